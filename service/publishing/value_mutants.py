"""Mutants of the values: each moved by a hair of its kind, or a flag turned round."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec

from service.publishing.mutant import HAIR_NM, Mutant
from service.rulesets.ruleset import RuleSet
from service.rulesets.values import LAID_OUT, OPTIONAL, Values, kinds

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


def value_mutants(rules: RuleSet, laid_out: Collection[str]) -> Iterator[Mutant]:
    """Yield the rule set with each value moved; of those of layouts, the ones in `laid_out`."""
    used = {need.driver for item in rules.bill for need in item.needs}
    unused = {name for name in LAID_OUT if f"values.{name}" not in laid_out}
    if "corners" not in used:
        unused.add("usual_corners")
    if not rules.values.snap_bends_to_wires:
        unused.add("mesh_opening")
    # a value that no rule file states cannot be what an example shows
    unused |= {name for name in OPTIONAL if not getattr(rules.values, name)}
    for name in kinds():
        if name not in unused:
            for changed, values in nudged_values(rules.values, name):
                yield Mutant(
                    path=("values", name),
                    changed=changed,
                    touches=(f"values.{name}",),
                    make=partial(_everywhere, rules, name, getattr(values, name)),
                )


def _everywhere(rules: RuleSet, name: str, value: Any) -> RuleSet:  # noqa: ANN401
    """Return the rule set with another value, also in the zones that do not say otherwise."""
    zones = {
        zone: entry
        if name in entry.changed
        else msgspec.structs.replace(entry, values=_with(entry.values, name, value))
        for zone, entry in rules.zones.items()
    }
    return msgspec.structs.replace(rules, values=_with(rules.values, name, value), zones=zones)


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
    """Return the values with another one in place of one of them."""
    return msgspec.structs.replace(values, **{name: value})
