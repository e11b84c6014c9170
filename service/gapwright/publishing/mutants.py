"""Mutants: a rule set with one threshold moved by a small step, or one row, line or task left out.

The examples of a published file must fail for each of them, so they must be at each limit and just
past it. A mutant that passes every example is an untested limit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec
from msgspec.structs import replace

from gapwright.rulesets.ruleset import (
    Effort,
    Item,
    LaborFactor,
    Mesh,
    Need,
    Ratio,
    RuleSet,
    Task,
    Zone,
)
from gapwright.rulesets.tables import Range, Row, Table
from gapwright.rulesets.values import LAID_OUT, VALUES, Values

STEP_NM = 396_875
"""The small step of a length: a sixty-fourth of an inch."""
_POINT = Fraction(1, 100)
_STEPS: dict[str, tuple[Any, str]] = {
    "length": (STEP_NM, "1/64 in"),
    "share": (_POINT, "a percentage point"),
    "angle": (0.5, "half a degree"),
    "count": (1, "1"),
    "time": (1, "a minute"),
}
"""How far each kind of quantity is moved, and that in words."""

Path = tuple[str, ...]
Variant = tuple[Path, str, Any]
"""Where something is changed below a part of a rule set, how in words, and the changed part."""


class Mutant(msgspec.Struct, frozen=True, kw_only=True):
    """A rule set with one thing changed: where, and how in words.

    `make` returns the changed rule set: many are named, and few are made.
    """

    path: Path
    changed: str
    make: Callable[[], RuleSet]

    @property
    def rules(self) -> RuleSet:
        """Return the rule set with the change."""
        return self.make()


def mutants(rules: RuleSet, laid_out: AbstractSet[str] = frozenset()) -> Iterator[Mutant]:
    """Yield the rule set with each threshold moved a little, in turn.

    Of the values that only layouts use, only those in `laid_out` are moved, such as
    `values.overlap_length` and `zones.exposed.values.overlap_length`. Values that quotes use are
    moved only if an example requests a quote.
    """
    sections = ["values", "bill", "zones", "tables"]
    if any(example.call == "quote" for example in rules.examples.values()):
        sections += ["assumptions", "work", "labor_factors", "mesh"]
    for section in sections:
        for path, how, part in _section(rules, section):
            full = (section, *path)
            if section in ("values", "zones") and _is_idle(rules, full, laid_out):
                continue
            yield Mutant(
                path=full,
                changed=f"{'.'.join(path)} {how}",
                make=partial(_with_part, rules, section, part),
            )


def _section(rules: RuleSet, section: str) -> Iterator[Variant]:
    """Yield the variants of one section."""
    whole = getattr(rules, section)
    match section:
        case "values":
            yield from _values(whole, VALUES)
        case "bill":
            yield from _listed(whole, _item, removable=True)
        case "work":
            yield from _listed(whole, _task, removable=True)
        case "labor_factors":
            yield from _listed(whole, _labor_factor)
        case "tables":
            yield from _named(whole, _rows)
        case "zones":
            yield from _named(whole, _zone)
        case "assumptions":
            yield from _named(whole, lambda one: _more(one, "value", one.kind))
        case "mesh" if whole is not None:
            yield from _mesh(whole)


def _with_part(rules: RuleSet, section: str, part: Any) -> RuleSet:  # noqa: ANN401
    """Return the rule set with another section; a value moves in every zone that keeps it."""
    if section == "values":
        zones = {
            name: replace(zone, values=_carried(rules.values, part, zone))
            for name, zone in rules.zones.items()
        }
        return replace(rules, values=part, zones=zones)
    return replace(rules, **{section: part})


def _carried(before: Values, after: Values, zone: Zone) -> Values:
    """Return a zone's values where those of the whole rule set move."""
    moved = {
        name: getattr(after, name)
        for name in VALUES
        if name not in zone.changed and getattr(after, name) != getattr(before, name)
    }
    return replace(zone.values, **moved)


def _is_idle(rules: RuleSet, path: Path, laid_out: AbstractSet[str]) -> bool:
    """Return whether a value is one that no example of these rules needs to notice."""
    name = path[-1]
    if path[-2] != "values":
        return False
    values = rules.values
    if name == "min_piece_length" and values.min_piece_length <= values.max_overlap_length:
        return True  # a piece is longer than the longest overlap in any case
    if name in LAID_OUT:
        return ".".join(path) not in laid_out
    if name == "default_corners":
        return all(need.driver != "corners" for item in rules.bill for need in item.needs)
    return name == "mesh_opening" and not values.snap_bends_to_wires


def _listed(
    parts: tuple[Any, ...], vary: Callable[[Any], Iterator[Variant]], *, removable: bool = False
) -> Iterator[Variant]:
    """Yield the variants of a list of entries with ids: one left out, or changed."""
    for at, one in enumerate(parts):
        if removable:
            yield (one.id,), "is left out", (*parts[:at], *parts[at + 1 :])
        for path, how, changed in vary(one):
            yield (one.id, *path), how, (*parts[:at], changed, *parts[at + 1 :])


def _named(parts: Mapping[Any, Any], vary: Callable[[Any], Iterator[Variant]]) -> Iterator[Variant]:
    """Yield the variants of entries by name, one of them changed."""
    for name, one in parts.items():
        steps = name if isinstance(name, tuple) else (name,)
        for path, how, changed in vary(one):
            yield (*steps, *path), how, {**parts, name: changed}


def _within(owner: Any, member: str, key: str, variants: Iterator[Variant]) -> Iterator[Variant]:  # noqa: ANN401
    """Yield a struct with each variant of one member, which a rule file calls `key`."""
    for path, how, changed in variants:
        yield (key, *path), how, replace(owner, **{member: changed})


def _more(owner: Any, member: str, kind: str, key: str = "") -> Iterator[Variant]:  # noqa: ANN401
    """Yield a struct with a figure raised by a small step."""
    step, words = _STEPS[kind]
    changed = replace(owner, **{member: getattr(owner, member) + step})
    yield (key,) if key else (), f"is {words} more", changed


def _always(owner: Any, how: str = "always applies") -> Iterator[Variant]:  # noqa: ANN401
    if owner.when:
        yield ("when",), how, replace(owner, when=())


def nudged(kind: str, value: Any, mark: tuple[Any, str] | None = None) -> Iterator[tuple[str, Any]]:  # noqa: ANN401
    """Yield a value moved by a step of its kind both ways, not below zero, and how in words."""
    if kind == "flag":
        yield "is the opposite", not value
    elif kind == "lengths":
        for at in range(len(value)):
            yield f"has no entry {at + 1}", value[:at] + value[at + 1 :]
    else:
        step, words = mark or _STEPS[kind]
        yield f"is {words} more", value + step
        if value > 0:
            yield f"is {words} less", max(value - step, type(value)(0))


def _values(values: Values, names: Iterable[str]) -> Iterator[Variant]:
    for name in names:
        mark = (values.cut_increment, "a tape mark") if VALUES[name].on_tape else None
        for how, value in nudged(VALUES[name].kind, getattr(values, name), mark):
            yield (name,), how, replace(values, **{name: value})


def _item(item: Item) -> Iterator[Variant]:
    vary = partial(_ratio, measured=item.measured)
    yield from _within(item, "needs", "estimate", _listed(item.needs, vary))
    if item.counted is not item.needs:
        yield from _within(item, "counted", "count", _listed(item.counted, vary))
    if item.pack is not None:
        more = _more(item.pack, "pack_size", "length" if item.measured else "count", "pack_size")
        yield from _within(item, "pack", "pack", more)
    if item.spare:
        yield from _more(item, "spare", "share", "spare")
    if item.minimum:
        yield from _more(item, "minimum", "count", "minimum")


def _ratio(ratio: Need | Ratio, *, measured: bool) -> Iterator[Variant]:
    """Yield a ratio of an item moved; a measured item takes its driver as it is."""
    yield ("each",), "is 1 more", replace(ratio, each=ratio.each + 1)
    if not measured:
        kind = "length" if ratio.one_per > 1_000_000 else "count"
        for how, one_per in nudged(kind, ratio.one_per):
            if one_per:
                yield ("one_per",), how, replace(ratio, one_per=one_per)
    if isinstance(ratio, Need):
        yield from _always(ratio, "is left out")


def _zone(zone: Zone) -> Iterator[Variant]:
    yield from _within(zone, "values", "values", _values(zone.values, sorted(zone.changed)))
    # what a zone changes is driven by a length, which a measured item takes one to one
    ratios = _named(zone.ratios, lambda ratio: _ratio(ratio, measured=ratio.one_per == 1))
    yield from _within(zone, "ratios", "bill", ratios)


def _task(task: Task) -> Iterator[Variant]:
    yield from _always(task)
    yield from _within(task, "job", "job", _listed(task.job, _effort))
    yield from _within(task, "estimated", "estimate", _listed(task.estimated, _effort))
    if task.counted is not task.estimated:
        yield from _within(task, "counted", "count", _listed(task.counted, _effort))


def _effort(effort: Effort) -> Iterator[Variant]:
    yield from _more(effort, "minutes", "time", "time")


def _labor_factor(labor_factor: LaborFactor) -> Iterator[Variant]:
    yield from _more(labor_factor, "share", "share", "share")
    yield from _always(labor_factor)


def _mesh(mesh: Mesh) -> Iterator[Variant]:
    yield from _more(mesh, "wire_nm", "length", "wire")
    yield (
        ("density",),
        "is a hundredth more",
        replace(mesh, density=mesh.density * Fraction(101, 100)),
    )
    yield from _more(mesh, "coating", "share", "coating")


def _rows(table: Table) -> Iterator[Variant]:
    """Yield a table without one of its rows, or with an end of a range moved."""
    rows = table.rows
    for at, row in enumerate(rows):
        for path, how, other in (((), "is left out", ()), *_moved_ends(row)):
            changed = (*rows[:at], *other, *rows[at + 1 :])
            yield ("rows", row.id, *path), how, replace(table, rows=changed)


def _moved_ends(row: Row) -> Iterator[tuple[Path, str, tuple[Row]]]:
    """Yield the row with each end of each of its ranges moved by a small step, both ways."""
    for name, condition in row.when.items():
        for end, key in (("least", "at_least"), ("below", "below")):
            limit = getattr(condition, end, None)
            if limit is None or not isinstance(condition, Range):
                continue
            for step, way in ((STEP_NM, "more"), (-STEP_NM, "less")):
                other = replace(condition, **{end: limit + step})
                moved = replace(row, when={**row.when, name: other})
                yield ("when", name, key), f"is 1/64 in {way}", (moved,)
