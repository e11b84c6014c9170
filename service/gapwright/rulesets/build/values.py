"""Build the parts of a rule file with fixed names: values, zones, assumptions, and the mesh."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import msgspec

from gapwright.quantity.parse import QuantityError
from gapwright.rulesets.build.bill import read_portion
from gapwright.rulesets.measure import WANTED, Faults, Measure, Path, bound
from gapwright.rulesets.ruleset import Assumption, Item, Mesh, Need, Ratio, Zone
from gapwright.rulesets.schema import (
    Allowed,
    AssumptionEntry,
    MeshEntry,
    RatioEntry,
    RuleFile,
    ValueEntry,
    ZoneEntry,
)
from gapwright.rulesets.values import REQUIRED, VALUES, ZONED, Values
from gapwright.rulesets.vocabulary import ASSUMED, DRIVERS, MESH, TABLES

_ZONED_DRIVERS = tuple(name for name, kind in DRIVERS.items() if kind == "length")
_NAMED: dict[str, tuple[Mapping[str, Any], Iterable[str], str]] = {
    "values": (VALUES, REQUIRED, "value"),
    "tables": (TABLES, TABLES, "table"),
    "assumptions": (ASSUMED, (), "assumption"),
    "mesh": (MESH, MESH, "property"),
}
"""Sections with fixed names: the known names, the required ones, and a noun."""


def check_names(content: Mapping[str, Any], faults: Faults) -> None:
    """Add a fault for each unknown name, and for each missing one.

    An unknown name is reported once, even if more is wrong with its entry.
    """
    for section, (known, required, noun) in _NAMED.items():
        written = content.get(section)
        if not isinstance(written, Mapping):
            continue
        unknown = {(section, name) for name in written if name not in known}
        faults[:] = [fault for fault in faults if fault.path[:2] not in unknown]
        for path in sorted(unknown):
            faults.add_unknown(path, f"Unknown {noun} '{path[1]}'.", path[1], known)
        for name in required:
            if name not in written:
                measure = known[name]
                known_kind = isinstance(measure, Measure)
                remedy = f"Expected {WANTED[measure.kind]}." if known_kind else "Add it."
                faults.add((section, name), f"This required {noun} is missing.", remedy)


def build_values(entries: Mapping[str, ValueEntry], faults: Faults) -> Values | None:
    """Return the values, or None if one is missing or invalid."""
    read: dict[str, Any] = {}
    for name, value in VALUES.items():
        if name not in entries:
            continue  # already reported, or has a default
        entry, path = entries[name], ("values", name)
        found = faults.read((*path, "value"), value.read, entry.value, None)
        if found is not None:
            read[name] = found
            _check_allowed(value.kind, found, entry.allowed, path, faults)
    _check_consistent(read, ("values",), ("value",), faults)
    return Values(**read) if set(REQUIRED) <= set(read) else None


def build_assumptions(
    entries: Mapping[str, AssumptionEntry], faults: Faults
) -> dict[str, Assumption]:
    """Return the assumptions by name."""
    built = {}
    for name, entry in entries.items():
        if name not in ASSUMED:
            continue
        path: Path = ("assumptions", name)
        raw = {"value": entry.value, "low": entry.low, "high": entry.high}
        read = [
            faults.read((*path, end), ASSUMED[name].read, part, None) for end, part in raw.items()
        ]
        if None in read:
            continue
        value, least, most = read
        if not least <= value <= most:
            remedy = f"Expected a value from {entry.low} to {entry.high}."
            faults.add((*path, "value"), "This is outside its own low-to-high range.", remedy)
        built[name] = Assumption(
            name=name,
            kind=ASSUMED[name].kind,
            value=value,
            least=least,
            most=most,
            description=entry.description,
            rule=f"assumptions.{name}",
        )
    return built


def build_mesh(
    entries: Mapping[str, MeshEntry], values: Values | None, faults: Faults
) -> Mesh | None:
    """Return what the mesh is made of, or None if the file does not say."""
    read: dict[str, Any] = {
        name: faults.read(("mesh", name, "value"), MESH[name].read, entry.value, None)
        for name, entry in entries.items()
        if name in MESH
    }
    if values is None or len(read) != len(MESH) or None in read.values():
        return None
    if read["wire"] >= values.mesh_opening:
        remedy = "A wire must be thinner than the mesh opening."
        faults.add(("mesh", "wire", "value"), "This does not fit mesh_opening.", remedy)
    spacing = {"wire_nm": read.pop("wire"), "spacing_nm": values.mesh_opening}
    return Mesh(**spacing, **read)


def build_zones(
    file: RuleFile, values: Values | None, bill: tuple[Item, ...], faults: Faults
) -> dict[str, Zone]:
    """Return the zones by name. The standard zone is always included."""
    items = {item.id: item for item in bill}
    zones: dict[str, Zone] = {}
    for name, entry in file.zones.items():
        path: Path = ("zones", name)
        if name == "standard":
            problem = "The standard zone is everything outside the other zones."
            faults.add(path, problem, "Change the values and the bill instead.")
        changed = _zone_values(file, entry, (*path, "values"), faults)
        ratios = _ratios(entry, items, (*path, "bill"), faults)
        if values is not None:
            merged = {**msgspec.structs.asdict(values), **changed}
            _check_consistent(merged, (*path, "values"), (), faults)
            zones[name] = Zone(values=Values(**merged), changed=frozenset(changed), ratios=ratios)
    if values is not None:
        zones.setdefault("standard", Zone(values=values, changed=frozenset(), ratios={}))
    return zones


def _zone_values(file: RuleFile, entry: ZoneEntry, path: Path, faults: Faults) -> dict[str, Any]:
    changed = {}
    for name, raw in entry.values.items():
        here = (*path, name)
        if name not in VALUES:
            faults.add_unknown(here, f"Unknown value '{name}'.", name, ZONED)
        elif name not in ZONED:
            problem = f"{name} applies to the whole array. A zone cannot change it."
            remedy = f"Change it under values. A zone can change {', '.join(ZONED)}."
            faults.add(here, problem, remedy)
        else:
            value = faults.read(here, VALUES[name].read, raw, None)
            if value is not None:
                changed[name] = value
                allowed = file.values[name].allowed if name in file.values else None
                problem = f"{raw} is outside the allowed range of {name}."
                _check_inside(VALUES[name].kind, value, allowed, here, problem, faults)
    return changed


def _ratios(
    entry: ZoneEntry, items: Mapping[str, Item], path: Path, faults: Faults
) -> dict[tuple[str, str], Ratio]:
    ratios = {}
    for item, needs in entry.bill.items():
        if item not in items:
            problem = f"Unknown bill line '{item}'."
            faults.add_unknown((*path, item), problem, item, list(items))
            continue
        known = {need.id: need for need in items[item].needs}
        for need, ratio in needs.items():
            here = (*path, item, need)
            if need not in known:
                faults.add_unknown(here, f"Unknown need '{need}'.", need, known)
            elif known[need].driver not in _ZONED_DRIVERS:
                problem = f"This need is driven by {known[need].driver}, which zones do not split."
                remedy = f"A zone can change needs driven by {' or '.join(_ZONED_DRIVERS)}."
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


def _check_consistent(read: Mapping[str, Any], before: Path, after: Path, faults: Faults) -> None:
    """Add faults for values that conflict with each other, at (*before, name, *after)."""
    checks: tuple[tuple[str, str, Callable[..., bool], str], ...] = (
        ("common_widths", "stock_widths", lambda a, b: set(a) <= set(b), "List them there too."),
        (
            "min_bend_angle",
            "max_bend_angle",
            lambda a, b: a <= b,
            "The minimum cannot be more than the maximum.",
        ),
        (
            "overlap_length",
            "piece_length",
            lambda a, b: a < b,
            "An overlap must be shorter than a piece.",
        ),
    )
    for name, other, fits, remedy in checks:
        if name in read and other in read and not fits(read[name], read[other]):
            faults.add((*before, name, *after), f"This does not fit {other}.", remedy)


def _check_allowed(
    kind: str, read: object, allowed: Allowed | None, path: Path, faults: Faults
) -> None:
    """Add a fault if a value is outside its own allowed range, or the range is invalid."""
    if allowed is not None and kind == "flag":
        problem = "A true-or-false value has no range."
        faults.add((*path, "allowed"), problem, "Remove it.")
    elif allowed is not None:
        try:
            bound(kind, allowed.min), bound(kind, allowed.max)
        except QuantityError as error:
            faults.add((*path, "allowed"), str(error))
        problem = "This is outside its own allowed range."
        _check_inside(kind, read, allowed, (*path, "value"), problem, faults)


def _check_inside(
    kind: str, read: object, allowed: Allowed | None, path: Path, problem: str, faults: Faults
) -> None:
    """Add a fault if a value, or one in a list, is outside a range."""
    if allowed is None or kind == "flag":
        return
    try:
        least, most = bound(kind, allowed.min), bound(kind, allowed.max)
    except QuantityError:
        return  # reported with the range
    values = read if isinstance(read, tuple) else (read,)
    if not all(least <= one <= most for one in values):
        faults.add(path, problem, f"Expected a value from {allowed.min} to {allowed.max}.")
