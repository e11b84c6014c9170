"""Build the zones of a rule set: what holds instead on edges that are seen or take weather."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build.measure import bound, count, length, measure
from service.rulesets.build.values import inconsistent
from service.rulesets.ruleset import Item, Need, Ratio, Zone
from service.rulesets.schema import RatioEntry, RuleFile, ZoneEntry
from service.rulesets.values import ZONED, Values, kinds
from service.rulesets.vocabulary import DRIVERS
from service.strict import unknown_name

Path = tuple[str | int, ...]

_ZONED_DRIVERS = tuple(name for name, kind in DRIVERS.items() if kind == "length")


def build_zones(
    file: RuleFile, values: Values | None, bill: tuple[Item, ...], found: list[Fault]
) -> dict[str, Zone]:
    """Return the zones by name; faults are added to `found`. The standard zone is always there."""
    items = {item.id: item for item in bill}
    zones: dict[str, Zone] = {}
    for name, entry in file.zones.items():
        path: Path = ("zones", name)
        if name == "standard":
            problem = "The standard zone is what holds everywhere else."
            remedy = "Change the values and the bill themselves."
            found.append(Fault(path=path, problem=problem, remedy=remedy))
        changed = _values(entry, path, found)
        found.extend(_out_of_range(file, entry, changed, path))
        ratios = _ratios(entry, items, (*path, "bill"), found)
        if values is not None:
            merged = {**msgspec.structs.asdict(values), **changed}
            found.extend(inconsistent(merged, lambda n, p=path: (*p, "values", n)))  # type: ignore[misc]
            zones[name] = Zone(values=Values(**merged), changed=frozenset(changed), ratios=ratios)
    if values is not None:
        zones.setdefault("standard", Zone(values=values, changed=frozenset(), ratios={}))
    return zones


def _out_of_range(
    file: RuleFile, entry: ZoneEntry, changed: Mapping[str, Any], path: Path
) -> list[Fault]:
    """Return the faults of a zone's values that leave the range which the value itself allows."""
    known = kinds()
    faults = []
    for name, value in changed.items():
        allowed = file.values[name].allowed if name in file.values else None
        if allowed is None or known[name] == "flag":
            continue
        try:
            least, most = bound(known[name], allowed.from_), bound(known[name], allowed.to)
        except QuantityError:
            continue  # told where the range itself stands
        if not all(
            least <= one <= most for one in (value if isinstance(value, tuple) else (value,))
        ):
            problem = f"{entry.values[name]} is outside of what the value allows."
            remedy = f"Stay within {allowed.from_} to {allowed.to}."
            faults.append(Fault(path=(*path, "values", name), problem=problem, remedy=remedy))
    return faults


def _values(entry: ZoneEntry, path: Path, found: list[Fault]) -> dict[str, Any]:
    known = kinds()
    changed = {}
    for name, raw in entry.values.items():
        here = (*path, "values", name)
        if name not in known:
            remedy = unknown_name(name, list(ZONED))
            found.append(Fault(path=here, problem="There is no such value.", remedy=remedy))
            continue
        if name not in ZONED:
            problem = f"{name} is taken for the whole array, and no zone changes it."
            remedy = f"Change it under values. A zone can change {', '.join(ZONED)}."
            found.append(Fault(path=here, problem=problem, remedy=remedy))
            continue
        try:
            changed[name] = measure(known[name], raw)
        except QuantityError as error:
            found.append(Fault(path=here, problem=str(error)))
    return changed


def _ratios(
    entry: ZoneEntry, items: Mapping[str, Item], path: Path, found: list[Fault]
) -> dict[tuple[str, str], Ratio]:
    ratios = {}
    for item, needs in entry.bill.items():
        known = {need.id: need for need in items[item].needs} if item in items else {}
        if item not in items:
            remedy = unknown_name(item, list(items))
            problem = "There is no such line of the bill."
            found.append(Fault(path=(*path, item), problem=problem, remedy=remedy))
            continue
        for need, ratio in needs.items():
            here = (*path, item, need)
            if need not in known:
                remedy = unknown_name(need, list(known))
                found.append(Fault(path=here, problem="There is no such need.", remedy=remedy))
            elif known[need].driver not in _ZONED_DRIVERS:
                problem = f"It is driven by {known[need].driver}, which is not told zone by zone."
                remedy = f"A zone has ratios of what is driven by {' or '.join(_ZONED_DRIVERS)}."
                found.append(Fault(path=here, problem=problem, remedy=remedy))
            else:
                ratios[item, need] = _ratio(ratio, known[need], here, found)
    return ratios


def _ratio(entry: RatioEntry, need: Need, path: Path, found: list[Fault]) -> Ratio:
    one_per = need.one_per
    if entry.one_per is not None:
        try:
            read = length if isinstance(entry.one_per, str) else count
            one_per = read(entry.one_per)
            if one_per == 0:
                raise QuantityError("One per nothing makes no sense. Write more than zero.")
        except QuantityError as error:
            found.append(Fault(path=(*path, "one_per"), problem=str(error)))
    return Ratio(each=entry.each or need.each, one_per=one_per)
