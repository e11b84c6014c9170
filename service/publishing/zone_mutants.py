"""Mutants of the zones: a value or a ratio that holds there moved by a hair."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import partial
from typing import Any

import msgspec

from service.publishing.bill_mutants import ratio_changes
from service.publishing.mutant import Mutant
from service.publishing.value_mutants import nudged_values
from service.rulesets.ruleset import RuleSet, Zone
from service.rulesets.values import LAID_OUT


def zone_mutants(rules: RuleSet, laid_out: Collection[str]) -> Iterator[Mutant]:
    """Yield the rule set with each value and each ratio of each zone moved by a hair.

    Of the values that only layouts take, those named in `laid_out` are moved.
    """
    for name, zone in rules.zones.items():
        for path, changed, moved in (*_values(name, zone, laid_out), *_ratios(name, zone, rules)):
            yield Mutant(
                path=path,
                changed=f"{changed} in the zone {name}",
                touches=(".".join(path),),
                make=partial(_with_zone, rules, name, moved),
            )


_Moved = tuple[tuple[str, ...], str, dict[str, Any]]
"""Where something was changed, what as words, and the members of the zone that it makes."""


def _values(name: str, zone: Zone, laid_out: Collection[str]) -> Iterator[_Moved]:
    for value in sorted(zone.changed):
        path = ("zones", name, "values", value)
        if value not in LAID_OUT or ".".join(path) in laid_out:
            for changed, values in nudged_values(zone.values, value):
                yield path, changed, {"values": values}


def _ratios(name: str, zone: Zone, rules: RuleSet) -> Iterator[_Moved]:
    measured = {item.id: item.measured for item in rules.bill}
    for (item, need), ratio in zone.ratios.items():
        path = ("zones", name, "bill", item, need)
        changes = ratio_changes(ratio.each, ratio.one_per, item, measured=measured[item])
        for changed, other in changes:
            moved = msgspec.structs.replace(ratio, **other)
            yield path, changed, {"ratios": {**zone.ratios, (item, need): moved}}


def _with_zone(rules: RuleSet, name: str, moved: dict[str, Any]) -> RuleSet:
    """Return the rule set with other values or ratios in a zone."""
    zone = msgspec.structs.replace(rules.zones[name], **moved)
    return msgspec.structs.replace(rules, zones={**rules.zones, name: zone})
