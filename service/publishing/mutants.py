"""Mutants: a rule set with one threshold moved by a hair, or one row, line or task left out.

A published file must hold examples that tell each of them from the rule set itself: on each limit
and just past it. What no example tells is a limit that nobody has looked at.

One walk makes them all: `_FIELDS` says of each struct of a rule set which of its members are
thresholds, and how each is nudged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from collections.abc import Set as AbstractSet
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec

from service.rulesets.ruleset import (
    Assumption,
    Effort,
    Item,
    Mesh,
    Need,
    Pack,
    Ratio,
    RuleSet,
    Surcharge,
    Task,
    Zone,
)
from service.rulesets.tables import Range, Row, Table
from service.rulesets.values import LAID_OUT, VALUES, Values

HAIR_NM = 396_875
"""A hair of a length: a sixty-fourth of an inch."""
_POINT = Fraction(1, 100)
_HAIRS: dict[str, tuple[Any, str]] = {
    "length": (HAIR_NM, "1/64 in"),
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

    Of the values that only layouts take, those that `laid_out` names are moved: `values.lap` and
    `zones.exposed.values.lap`. What quotes take is moved only where an example asks for a quote:
    versions published before there were quotes cannot notice.
    """
    sections = ["values", "bill", "zones", "tables"]
    if any(example.call == "quote" for example in rules.examples.values()):
        sections += ["assumptions", "work", "surcharges", "mesh"]
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
    if section == "values":
        yield from _values(whole, tuple(VALUES))
    elif section == "mesh":
        yield from _struct(whole) if whole is not None else ()
    elif section == "tables":
        for name, one in whole.items():
            yield from (((name, *p), how, {**whole, name: t}) for p, how, t in _rows(one))
    elif section in ("zones", "assumptions"):
        for name, one in whole.items():
            yield from (((name, *p), how, {**whole, name: part}) for p, how, part in _struct(one))
    else:
        yield from _entries(whole, removable=section != "surcharges")


def _with_part(rules: RuleSet, section: str, part: Any) -> RuleSet:  # noqa: ANN401
    """Return the rule set with another section; a value moves in every zone that keeps it."""
    if section == "values":
        zones = {
            name: msgspec.structs.replace(zone, values=_carried(rules.values, part, zone))
            for name, zone in rules.zones.items()
        }
        return msgspec.structs.replace(rules, values=part, zones=zones)
    return msgspec.structs.replace(rules, **{section: part})


def _carried(before: Values, after: Values, zone: Zone) -> Values:
    """Return a zone's values where those of the whole rule set move."""
    moved = {
        name: getattr(after, name)
        for name in VALUES
        if name not in zone.changed and getattr(after, name) != getattr(before, name)
    }
    return msgspec.structs.replace(zone.values, **moved)


def _is_idle(rules: RuleSet, path: Path, laid_out: AbstractSet[str]) -> bool:
    """Return whether a value is one that no example of these rules needs to notice."""
    name = path[-1]
    if path[-2] != "values":
        return False
    values = rules.values
    if name == "least_piece" and values.least_piece <= values.max_overlap_length:
        return True  # a piece is longer than the longest overlap in any case
    if name in LAID_OUT:
        return ".".join(path) not in laid_out
    if name == "usual_corners":
        return all(need.driver != "corners" for item in rules.bill for need in item.needs)
    return name == "mesh_opening" and not values.snap_bends_to_wires


def _struct(one: Any) -> Iterator[Variant]:  # noqa: ANN401
    """Yield each variant of a struct: one of its thresholds nudged."""
    for member, (key, nudge) in _FIELDS[type(one)].items():
        for path, how, changed in nudge(getattr(one, member), one):
            yield (
                (key, *path) if key else path,
                how,
                msgspec.structs.replace(one, **{member: changed}),
            )


def _entries(
    parts: tuple[Any, ...], *, removable: bool = False, measured: bool = False
) -> Iterator[Variant]:
    """Yield the variants of a list of entries with ids: one left out, or changed.

    `measured` says that they are needs of an item that is measured by length.
    """
    for at, one in enumerate(parts):
        variants = _ratio(one, measured=measured) if isinstance(one, Need) else _struct(one)
        if removable:
            yield (one.id,), "is left out", (*parts[:at], *parts[at + 1 :])
        for path, how, changed in variants:
            yield (one.id, *path), how, (*parts[:at], changed, *parts[at + 1 :])


def nudged(kind: str, value: Any, hair: tuple[Any, str] | None = None) -> Iterator[tuple[str, Any]]:  # noqa: ANN401
    """Yield a value moved by a hair of its kind both ways, but not below zero, and how in words."""
    if kind == "flag":
        yield "is the other way round", not value
    elif kind == "lengths":
        for at in range(len(value)):
            yield f"lacks its entry {at + 1}", value[:at] + value[at + 1 :]
    else:
        step, words = hair or _HAIRS[kind]
        yield f"is {words} more", value + step
        if value > 0:
            yield f"is {words} less", max(value - step, type(value)(0))


def _values(values: Values, names: Iterable[str]) -> Iterator[Variant]:
    for name in names:
        mark = (values.tape_grid, "a mark of the tape") if VALUES[name].on_tape else None
        for how, value in nudged(VALUES[name].kind, getattr(values, name), mark):
            yield (name,), how, msgspec.structs.replace(values, **{name: value})


def _more(kind: str, *, if_any: bool = False) -> Callable[[Any, Any], Iterator[Variant]]:
    """Return a nudge that raises a figure by a hair; one of zero too, unless `if_any`."""
    step, words = _HAIRS[kind]

    def nudge(value: Any, _: object) -> Iterator[Variant]:  # noqa: ANN401
        if value or not if_any:
            yield (), f"is {words} more", value + step

    return nudge


def _own_more(value: Any, owner: Assumption) -> Iterator[Variant]:  # noqa: ANN401
    yield (), f"is {_HAIRS[owner.kind][1]} more", value + _HAIRS[owner.kind][0]


def _percent_more(value: Fraction, _: object) -> Iterator[Variant]:
    yield (), "is a hundredth more", value * Fraction(101, 100)


def _always(when: tuple[Any, ...], _: object) -> Iterator[Variant]:
    if when:
        yield (), "applies always", ()


def _parts(parts: tuple[Any, ...], owner: Item | Task) -> Iterator[Variant]:
    yield from _entries(parts, measured=isinstance(owner, Item) and owner.measured)


def _counted(parts: tuple[Any, ...], owner: Item | Task) -> Iterator[Variant]:
    """Yield the variants of what is counted by layouts, where that differs from the estimate."""
    if parts is not (owner.needs if isinstance(owner, Item) else owner.estimated):
        yield from _parts(parts, owner)


def _pack(pack: Pack | None, owner: Item) -> Iterator[Variant]:
    if pack is not None:
        step, words = _HAIRS["length" if owner.measured else "count"]
        more = msgspec.structs.replace(pack, holds=pack.holds + step)
        yield ("holds",), f"is {words} more", more


def _ratio(ratio: Need | Ratio, *, measured: bool) -> Iterator[Variant]:
    """Yield a ratio of an item moved; a measured item takes its driver as it is."""
    replace = msgspec.structs.replace
    yield ("each",), "is 1 more", replace(ratio, each=ratio.each + 1)
    if not measured:
        kind = "length" if ratio.one_per > 1_000_000 else "count"
        for how, one_per in nudged(kind, ratio.one_per):
            if one_per:
                yield ("one_per",), how, replace(ratio, one_per=one_per)
    if isinstance(ratio, Need) and ratio.when:
        yield ("when",), "is left out", replace(ratio, when=())


def _zone_values(values: Values, zone: Zone) -> Iterator[Variant]:
    yield from _values(values, sorted(zone.changed))


def _zone_ratios(ratios: Any, _: object) -> Iterator[Variant]:  # noqa: ANN401
    for (item, need), ratio in ratios.items():
        # what a zone changes is driven by a length, which a measured item takes one to one
        for path, how, changed in _ratio(ratio, measured=ratio.one_per == 1):
            yield (item, need, *path), how, {**ratios, (item, need): changed}


def _rows(table: Table) -> Iterator[Variant]:
    """Yield a table without one of its rows, or with an end of a range moved."""
    rows = table.rows
    for at, row in enumerate(rows):
        for path, how, other in (((), "is left out", ()), *_moved_ends(row)):
            changed = (*rows[:at], *other, *rows[at + 1 :])
            yield ("rows", row.id, *path), how, msgspec.structs.replace(table, rows=changed)


def _moved_ends(row: Row) -> Iterator[tuple[Path, str, tuple[Row]]]:
    """Yield the row with each end of each of its ranges moved by a hair, both ways."""
    for name, condition in row.when.items():
        for end, key in (("least", "from"), ("below", "below")):
            limit = getattr(condition, end, None)
            if limit is None or not isinstance(condition, Range):
                continue
            for step, way in ((HAIR_NM, "more"), (-HAIR_NM, "less")):
                other = msgspec.structs.replace(condition, **{end: limit + step})
                moved = msgspec.structs.replace(row, when={**row.when, name: other})
                yield ("when", name, key), f"is 1/64 in {way}", (moved,)


_Nudge = Callable[[Any, Any], Iterator[Variant]]
_FIELDS: dict[type, dict[str, tuple[str, _Nudge]]] = {
    Item: {
        "needs": ("estimate", _parts),
        "counted": ("count", _counted),
        "pack": ("pack", _pack),
        "spare": ("spare", _more("share", if_any=True)),
        "minimum": ("minimum", _more("count", if_any=True)),
    },
    Zone: {"values": ("values", _zone_values), "ratios": ("bill", _zone_ratios)},
    Assumption: {"value": ("", _own_more)},
    Task: {
        "when": ("when", _always),
        "job": ("job", _parts),
        "estimated": ("estimate", _parts),
        "counted": ("count", _counted),
    },
    Effort: {"minutes": ("time", _more("time"))},
    Surcharge: {"share": ("share", _more("share")), "when": ("when", _always)},
    Mesh: {
        "wire_nm": ("wire", _more("length")),
        "density": ("density", _percent_more),
        "coating": ("coating", _more("share")),
    },
}
"""The thresholds of each struct: the member, its key in a rule file, and how it is nudged."""
