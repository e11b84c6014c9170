"""Build the values of a rule set and of its zones, each checked against what it is taken for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import msgspec

from service.quantity.parse import QuantityError
from service.rulesets.build.bill import read_portion
from service.rulesets.measure import WANTED, Faults, Measure, Path, bound
from service.rulesets.ruleset import Item, Need, Ratio, Zone
from service.rulesets.schema import Allowed, RatioEntry, RuleFile, ValueEntry, ZoneEntry
from service.rulesets.values import REQUIRED, VALUES, ZONED, Values
from service.rulesets.vocabulary import DRIVERS
from service.strict import unknown_name

_ZONED_DRIVERS = tuple(name for name, kind in DRIVERS.items() if kind == "length")


def build_values(
    entries: Mapping[str, ValueEntry], written: object, faults: Faults
) -> Values | None:
    """Return the values, or None where one is missing or at fault.

    `written` is the section as it stands, in which entries at fault have not been dropped.
    """
    names = {**entries, **(written if isinstance(written, Mapping) else {})}
    read: dict[str, Any] = {}
    for name in check_names("values", names, VALUES, "There is no such value.", faults):
        if name not in entries:
            continue  # told already
        value = faults.read(
            ("values", name, "value"), lambda n=name: VALUES[n].read(entries[n].value), None
        )
        if value is not None:
            read[name] = value
            _check_allowed(VALUES[name], value, entries[name], ("values", name), faults)
    if isinstance(written, Mapping):
        check_missing("values", written, VALUES, REQUIRED, "This value is missing.", faults)
    _check_consistent(read, lambda name: ("values", name, "value"), faults)
    return Values(**read) if set(REQUIRED) <= set(read) else None


def check_names(
    section: str,
    names: Mapping[str, object],
    known: Mapping[str, object],
    problem: str,
    faults: Faults,
) -> Iterator[str]:
    """Yield the names of a section that are known; one that is not is told once, and only so."""
    unknown = {name for name in names if name not in known}
    if unknown:
        faults[:] = [f for f in faults if f.path[:1] != (section,) or f.path[1] not in unknown]
    for name in sorted(map(str, unknown)):
        faults.add((section, name), problem, unknown_name(name, list(known)))
    yield from (name for name in names if name in known)


def check_missing(
    section: str,
    written: Mapping[str, object],
    known: Mapping[str, Measure],
    required: tuple[str, ...],
    problem: str,
    faults: Faults,
) -> None:
    """Add a fault for each required name that a section lacks."""
    for name in required:
        if name not in written:
            faults.add((section, name), problem, WANTED[known[name].kind])


def build_zones(
    file: RuleFile, values: Values | None, bill: tuple[Item, ...], faults: Faults
) -> dict[str, Zone]:
    """Return the zones by name. The standard zone is always there."""
    items = {item.id: item for item in bill}
    zones: dict[str, Zone] = {}
    for name, entry in file.zones.items():
        path: Path = ("zones", name)
        if name == "standard":
            problem = "The standard zone is what holds everywhere else."
            faults.add(path, problem, "Change the values and the bill themselves.")
        changed = _zone_values(file, entry, path, faults)
        ratios = _ratios(entry, items, (*path, "bill"), faults)
        if values is not None:
            merged = {**msgspec.structs.asdict(values), **changed}
            _check_consistent(merged, lambda n, p=path: (*p, "values", n), faults)
            zones[name] = Zone(values=Values(**merged), changed=frozenset(changed), ratios=ratios)
    if values is not None:
        zones.setdefault("standard", Zone(values=values, changed=frozenset(), ratios={}))
    return zones


def _zone_values(file: RuleFile, entry: ZoneEntry, path: Path, faults: Faults) -> dict[str, Any]:
    changed = {}
    for name, raw in entry.values.items():
        here = (*path, "values", name)
        if name not in VALUES:
            faults.add(here, "There is no such value.", unknown_name(name, list(ZONED)))
        elif name not in ZONED:
            problem = f"{name} is taken for the whole array, and no zone changes it."
            remedy = f"Change it under values. A zone can change {', '.join(ZONED)}."
            faults.add(here, problem, remedy)
        else:
            value = faults.read(here, lambda n=name, r=raw: VALUES[n].read(r), None)
            if value is not None:
                changed[name] = value
                allowed = file.values[name].allowed if name in file.values else None
                problem = f"{raw} is outside of what the value allows."
                _check_inside(VALUES[name].kind, value, allowed, here, problem, faults)
    return changed


def _ratios(
    entry: ZoneEntry, items: Mapping[str, Item], path: Path, faults: Faults
) -> dict[tuple[str, str], Ratio]:
    ratios = {}
    for item, needs in entry.bill.items():
        if item not in items:
            remedy = unknown_name(item, list(items))
            faults.add((*path, item), "There is no such line of the bill.", remedy)
            continue
        known = {need.id: need for need in items[item].needs}
        for need, ratio in needs.items():
            here = (*path, item, need)
            if need not in known:
                faults.add(here, "There is no such need.", unknown_name(need, list(known)))
            elif known[need].driver not in _ZONED_DRIVERS:
                problem = f"It is driven by {known[need].driver}, which is not told zone by zone."
                remedy = f"A zone has ratios of what is driven by {' or '.join(_ZONED_DRIVERS)}."
                faults.add(here, problem, remedy)
            else:
                ratios[item, need] = _ratio(ratio, known[need], here, faults)
    return ratios


def _ratio(entry: RatioEntry, need: Need, path: Path, faults: Faults) -> Ratio:
    one_per = need.one_per
    if entry.one_per is not None:
        kind = DRIVERS[need.driver]
        one_per = read_portion(need.driver, kind, entry.one_per, (*path, "one_per"), faults)
    return Ratio(each=entry.each or need.each, one_per=one_per)


def _check_consistent(
    read: Mapping[str, Any], place: Callable[[str], Path], faults: Faults
) -> None:
    """Add the faults between values that are each fine alone."""
    checks: tuple[tuple[str, str, Callable[..., bool], str], ...] = (
        ("common_widths", "stocked_widths", lambda a, b: set(a) <= set(b), "List them there too."),
        ("turn_from", "turn_to", lambda a, b: a <= b, "Write the least turn there."),
        ("lap", "piece_length", lambda a, b: a < b, "A lap is shorter than a piece."),
    )
    for name, other, fits, remedy in checks:
        if name in read and other in read and not fits(read[name], read[other]):
            faults.add(place(name), f"This does not fit {other}.", remedy)


def _check_allowed(
    value: Measure, read: object, entry: ValueEntry, path: Path, faults: Faults
) -> None:
    """Add a fault where a value leaves its own allowed range, or the range makes no sense."""
    allowed = entry.allowed
    if allowed is None:
        return
    if value.kind == "flag":
        faults.add(
            (*path, "allowed"), "A value that is true or false has no range.", "Leave it out."
        )
        return
    try:
        bound(value.kind, allowed.from_), bound(value.kind, allowed.to)
    except QuantityError as error:
        faults.add((*path, "allowed"), str(error))
        return
    problem = "This lies outside of its own allowed range."
    _check_inside(value.kind, read, allowed, (*path, "value"), problem, faults)


def _check_inside(
    kind: str,
    read: Any,
    allowed: Allowed | None,
    path: Path,
    problem: str,
    faults: Faults,  # noqa: ANN401
) -> None:
    """Add a fault where a value, or one of a list, lies outside of a range."""
    if allowed is None or kind == "flag":
        return
    try:
        least, most = bound(kind, allowed.from_), bound(kind, allowed.to)
    except QuantityError:
        return  # told where the range stands
    values = read if isinstance(read, tuple) else (read,)
    if not all(least <= one <= most for one in values):
        faults.add(path, problem, f"Stay within {allowed.from_} to {allowed.to}.")
