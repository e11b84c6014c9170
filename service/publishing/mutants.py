"""Mutants: a rule set with one threshold moved by a hair, or one row or line left out.

A published file must hold examples that tell each of them from the rule set itself: on each limit
and just past it. What no example tells is a limit that nobody has looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import msgspec

from service.errors import Fault, GapwrightError
from service.publishing.examples import judge_example
from service.publishing.quoting import HAIR_NM, asked, quoting_moves
from service.rulesets.ruleset import Item, Need, RuleSet
from service.rulesets.tables.lookup import compile_table
from service.rulesets.tables.model import Row
from service.rulesets.values import Values, kinds

_HAIRS: dict[str, Any] = {
    "length": HAIR_NM,
    "share": Fraction(1, 100),
    "angle": 0.5,
    "count": 1,
}

LAID_OUT = frozenset(
    (
        "piece_length",
        "lap",
        "lap_rings",
        "lap_ties",
        "longest_span",
        "join_gap",
        "hand_gap",
        "near_gap",
        "rails_per_row",
        "rail_inset",
        "rail_overhang",
        "tape_grid",
        "least_piece",
        "lap_off_corner",
        "lap_off_tab",
        "lap_off_penetration",
        "penetration_reach",
        "return_leg",
        "return_tab",
        "return_reach",
    )
)
"""Values of the layout, which examples cannot ask for yet."""

Path = tuple[str | int, ...]


class Mutant(msgspec.Struct, frozen=True, kw_only=True):
    """A rule set with one thing changed: where, and what, as words."""

    path: Path
    changed: str
    rules: RuleSet


def untested(rules: RuleSet) -> list[Fault]:
    """Return a fault for each mutant that every example of the rule set takes for the original."""
    names = list(rules.examples)
    faults = []
    for mutant in mutants(rules):
        killer = next((name for name in names if _tells(name, mutant.rules)), None)
        if killer is None:
            problem = f"No example notices when {mutant.changed}."
            remedy = "Add one on the limit and one just past it."
            faults.append(Fault(path=mutant.path, problem=problem, remedy=remedy))
        else:  # the next mutant is likely told by the same example
            names.remove(killer)
            names.insert(0, killer)
    return faults


def _tells(name: str, rules: RuleSet) -> bool:
    """Return whether an example tells a mutant, by another answer or by none at all."""
    try:
        return bool(judge_example(name, rules))
    except GapwrightError:
        return True


def mutants(rules: RuleSet) -> Iterator[Mutant]:
    """Yield the rule set with each value, bill line and table row changed a little, in turn."""
    yield from _value_mutants(rules)
    yield from _bill_mutants(rules)
    yield from _zone_mutants(rules)
    yield from _table_mutants(rules)
    if asked(rules):
        for path, changed, moved in quoting_moves(rules):
            yield Mutant(path=path, changed=changed, rules=moved)


def nudged_values(values: Values, name: str) -> Iterator[tuple[str, Values]]:
    """Yield the values with one of them moved by a hair, each with what was done, as words."""
    kind, value = kinds()[name], getattr(values, name)
    if kind == "flag":
        yield f"{name} is turned round", _with(values, name, not value)
    elif kind == "lengths":
        for at in range(len(value)):
            yield (
                f"{name} lacks its entry {at + 1}",
                _with(values, name, value[:at] + value[at + 1 :]),
            )
    else:
        hair = _HAIRS[kind]
        yield f"{name} is a hair more", _with(values, name, value + hair)
        if value > 0:
            yield f"{name} is a hair less", _with(values, name, max(value - hair, type(value)(0)))


def _with(values: Values, name: str, value: Any) -> Values:  # noqa: ANN401
    return msgspec.structs.replace(values, **{name: value})


def _value_mutants(rules: RuleSet) -> Iterator[Mutant]:
    used = {need.driver for item in rules.bill for need in item.needs}
    unused = LAID_OUT if "corners" in used else LAID_OUT | {"usual_corners"}
    if not rules.values.snap_bends_to_wires:
        unused = unused | {"mesh_opening"}
    for name in kinds():
        if name not in unused:
            for changed, values in nudged_values(rules.values, name):
                moved = msgspec.structs.replace(rules, values=values)
                yield Mutant(path=("values", name), changed=changed, rules=moved)


def _bill_mutants(rules: RuleSet) -> Iterator[Mutant]:
    for at, item in enumerate(rules.bill):
        for path, changed, other in _item_mutants(item):
            bill = (*rules.bill[:at], *((other,) if other else ()), *rules.bill[at + 1 :])
            moved = msgspec.structs.replace(rules, bill=bill)
            yield Mutant(path=("bill", item.id, *path), changed=changed, rules=moved)


def _item_mutants(item: Item) -> Iterator[tuple[Path, str, Item | None]]:
    yield (), f"{item.id} is left out", None
    for path, changed, needs in _need_mutants("estimate", item.needs, item):
        yield path, changed, msgspec.structs.replace(item, needs=needs)
    if item.counted is not item.needs:
        for path, changed, needs in _need_mutants("count", item.counted, item):
            yield path, changed, msgspec.structs.replace(item, counted=needs)
    if item.pack is not None:
        more = HAIR_NM if item.measured else 1
        pack = msgspec.structs.replace(item.pack, holds=item.pack.holds + more)
        yield ("pack",), f"a pack of {item.id} holds more", msgspec.structs.replace(item, pack=pack)
    if item.spare:
        spare = msgspec.structs.replace(item, spare=item.spare + Fraction(1, 100))
        yield ("spare",), f"the spare of {item.id} is more", spare
    if item.minimum:
        least = msgspec.structs.replace(item, minimum=item.minimum + 1)
        yield ("minimum",), f"the minimum of {item.id} is one more", least


def _need_mutants(
    part: str, needs: tuple[Need, ...], item: Item
) -> Iterator[tuple[Path, str, tuple[Need, ...]]]:
    """Yield an item's needs with one of them changed, and what was changed, as words."""
    for at, need in enumerate(needs):
        changes = list(_ratio_changes(need.each, need.one_per, item.id, measured=item.measured))
        if need.when:
            changes.append((f"{item.id} is needed always", {"when": ()}))
        for changed, other in changes:
            moved = msgspec.structs.replace(need, **other)
            yield (part, need.id), changed, (*needs[:at], moved, *needs[at + 1 :])


def _ratio_changes(
    each: int, one_per: int, item: str, *, measured: bool
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield what a ratio can be moved to by a hair, with what was done, as words."""
    hair = HAIR_NM if one_per > 1_000_000 else 1
    yield f"{item} needs one more each time", {"each": each + 1}
    if not measured:
        yield f"one {item} goes a hair further", {"one_per": one_per + hair}
    if not measured and one_per > hair:
        yield f"one {item} goes a hair less far", {"one_per": one_per - hair}


def _zone_mutants(rules: RuleSet) -> Iterator[Mutant]:
    """Yield the rule set with each ratio of each zone moved by a hair."""
    measured = {item.id: item.measured for item in rules.bill}
    for name, zone in rules.zones.items():
        for (item, need), ratio in zone.ratios.items():
            path: Path = ("zones", name, "bill", item, need)
            changes = _ratio_changes(ratio.each, ratio.one_per, item, measured=measured[item])
            for changed, other in changes:
                moved = msgspec.structs.replace(ratio, **other)
                other_zone = msgspec.structs.replace(
                    zone, ratios={**zone.ratios, (item, need): moved}
                )
                zones = {**rules.zones, name: other_zone}
                where = f"{changed} in the zone {name}"
                yield Mutant(
                    path=path, changed=where, rules=msgspec.structs.replace(rules, zones=zones)
                )


def _table_mutants(rules: RuleSet) -> Iterator[Mutant]:
    for name, compiled in rules.tables.items():
        rows = compiled.table.rows
        for at, row in enumerate(rows):
            path: Path = ("tables", name, "rows", row.id)
            for changed, other in ((f"the row {row.id} is left out", None), *_moved_ends(row)):
                kept = (*rows[:at], *((other,) if other else ()), *rows[at + 1 :])
                table = compile_table(msgspec.structs.replace(compiled.table, rows=kept))
                moved = msgspec.structs.replace(rules, tables={**rules.tables, name: table})
                yield Mutant(path=path, changed=changed, rules=moved)


def _moved_ends(row: Row) -> Iterator[tuple[str, Row]]:
    """Yield the row with each end of each of its ranges moved by a hair, both ways."""
    for name, condition in row.when.items():
        if not isinstance(condition, tuple):
            continue
        for at, part in enumerate(condition):
            for end in ("least", "below"):
                limit = getattr(part, end)
                for hair in (-HAIR_NM, HAIR_NM) if limit is not None else ():
                    other = msgspec.structs.replace(part, **{end: limit + hair})
                    ranges = (*condition[:at], other, *condition[at + 1 :])
                    way = "more" if hair > 0 else "less"
                    changed = f"{name} of the row {row.id} goes from or to a hair {way}"
                    when = {**row.when, name: ranges}
                    yield changed, msgspec.structs.replace(row, when=when)
