"""Mutants: a rule set with one threshold moved by a hair, or one row or line left out.

A published file must hold examples that tell each of them from the rule set itself: on each limit
and just past it. What no example tells is a limit that nobody has looked at.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec

from service.publishing.bill_mutants import bill_mutants, zone_mutants
from service.publishing.mutant import HAIR_NM, Mutant
from service.publishing.quoting import asked, quoting_mutants
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.lookup import compile_table
from service.rulesets.tables.model import Row
from service.rulesets.values import LAID_OUT, Values, kinds

_HAIRS: dict[str, Any] = {
    "length": HAIR_NM,
    "share": Fraction(1, 100),
    "angle": 0.5,
    "count": 1,
}
_ON_THE_TAPE = frozenset(
    (
        "piece_length",
        "lap",
        "longest_span",
        "least_piece",
        "lap_off_corner",
        "lap_off_tab",
        "lap_off_penetration",
        "return_leg",
        "return_tab",
    )
)
"""Lengths that are rounded to the marks of the tape: less than a mark changes nothing."""


def mutants(rules: RuleSet, laid_out: Collection[str] = ()) -> Iterator[Mutant]:
    """Yield the rule set with each value, bill line and table row changed a little, in turn.

    Of the values that only layouts take, those named in `laid_out` are changed.
    """
    yield from _value_mutants(rules, laid_out)
    yield from bill_mutants(rules)
    yield from zone_mutants(rules)
    yield from _table_mutants(rules)
    if asked(rules):
        yield from quoting_mutants(rules)


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
        hair, words = _HAIRS[kind], "a hair"
        if name in _ON_THE_TAPE:
            hair, words = values.tape_grid, "a mark of the tape"
        yield f"{name} is {words} more", _with(values, name, value + hair)
        if value > 0:
            yield f"{name} is {words} less", _with(values, name, max(value - hair, type(value)(0)))


def _with(values: Values, name: str, value: Any) -> Values:  # noqa: ANN401
    return msgspec.structs.replace(values, **{name: value})


def _value_mutants(rules: RuleSet, laid_out: Collection[str]) -> Iterator[Mutant]:
    used = {need.driver for item in rules.bill for need in item.needs}
    unused = set(LAID_OUT.difference(laid_out))
    if "corners" not in used:
        unused.add("usual_corners")
    if not rules.values.snap_bends_to_wires:
        unused.add("mesh_opening")
    for name in kinds():
        if name not in unused:
            for changed, values in nudged_values(rules.values, name):
                yield Mutant(
                    path=("values", name),
                    changed=changed,
                    touches=(f"values.{name}",),
                    make=partial(_with_value, rules, name, getattr(values, name)),
                )


def _with_value(rules: RuleSet, name: str, value: Any) -> RuleSet:  # noqa: ANN401
    """Return the rule set with another value, also in the zones that do not say otherwise."""
    zones = {
        zone: entry
        if name in entry.changed
        else msgspec.structs.replace(entry, values=_with(entry.values, name, value))
        for zone, entry in rules.zones.items()
    }
    return msgspec.structs.replace(rules, values=_with(rules.values, name, value), zones=zones)


def _table_mutants(rules: RuleSet) -> Iterator[Mutant]:
    for name, compiled in rules.tables.items():
        for at, row in enumerate(compiled.table.rows):
            for changed, other in ((f"the row {row.id} is left out", None), *_moved_ends(row)):
                yield Mutant(
                    path=("tables", name, "rows", row.id),
                    changed=changed,
                    touches=(f"tables.{name}.",),
                    make=partial(_with_row, rules, name, at, other),
                )


def _with_row(rules: RuleSet, name: str, at: int, row: Row | None) -> RuleSet:
    """Return the rule set with another row in a row's place, or none."""
    table = rules.tables[name].table
    rows = (*table.rows[:at], *((row,) if row else ()), *table.rows[at + 1 :])
    compiled = compile_table(msgspec.structs.replace(table, rows=rows))
    return msgspec.structs.replace(rules, tables={**rules.tables, name: compiled})


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
