"""Build the lines of the bill from a rule file."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build.conditions import build_conditions
from service.rulesets.build.measure import count, length, portion, share
from service.rulesets.ruleset import Item, Need, Pack
from service.rulesets.schema import ItemEntry, NeedEntry, PackEntry
from service.rulesets.vocabulary import COUNTED_DRIVERS, DRIVERS
from service.strict import unknown_name

Path = tuple[str | int, ...]
Needs = tuple[Need, ...]


def build_items(
    entries: Mapping[str, ItemEntry], written: object, found: list[Fault]
) -> tuple[Item, ...]:
    """Return the items of the bill in their order; faults are added to `found`."""
    told = set(written) - set(entries) if isinstance(written, Mapping) else set()
    above: dict[str, str] = {}
    items = []
    first = len(found)
    for name, entry in entries.items():
        path = ("bill", name)
        if name in COUNTED_DRIVERS:
            remedy = "Give the item another name."
            found.append(Fault(path=path, problem="A driver has this name.", remedy=remedy))
        items.append(_item(name, entry, above, path, found))
        above[name] = "length" if entry.unit == "length" else "count"
        if entry.unit == "length" and entry.minimum:
            problem = "A minimum is a count, and this item is measured by length."
            fault = Fault(path=(*path, "minimum"), problem=problem, remedy="Leave it out.")
            found.append(fault)
    found[first:] = [f for f in found[first:] if not _driven(f, entries, told)]
    return tuple(items)


def _driven(fault: Fault, entries: Mapping[str, ItemEntry], told: set[str]) -> bool:
    """Return whether a fault only says that a driver is missing that is itself at fault."""
    path = fault.path
    if len(path) != 5 or path[4] != "driver":
        return False
    needs = getattr(entries[str(path[1])], str(path[2]))
    return needs[path[3]].driver in told


def _item(
    name: str, entry: ItemEntry, above: Mapping[str, str], path: Path, found: list[Fault]
) -> Item:
    measured = entry.unit == "length"

    def needs(part: str, entries: Mapping[str, NeedEntry], drivers: Mapping[str, str]) -> Needs:
        return tuple(
            _need(need, need_entry, measured, drivers, (*path, part, need), found)
            for need, need_entry in entries.items()
        )

    estimated = needs("estimate", entry.estimate, {**DRIVERS, **above})
    counted = needs("count", entry.count, {**COUNTED_DRIVERS, **above})
    return Item(
        id=name,
        description=entry.description,
        measured=measured,
        needs=estimated,
        counted=counted or estimated,
        spare=_share(entry.spare, (*path, "spare"), found),
        minimum=entry.minimum,
        pack=_pack(entry.pack, measured, (*path, "pack"), found) if entry.pack else None,
        when=build_conditions(entry.when, (*path, "when"), found),
        rule=f"bill.{name}",
    )


def _need(
    name: str,
    entry: NeedEntry,
    measured: bool,
    drivers: Mapping[str, str],
    path: Path,
    found: list[Fault],
) -> Need:
    kind = drivers.get(entry.driver)
    if kind is None:
        problem = f"There is no driver {entry.driver}, and no item of that name above this one."
        remedy = unknown_name(entry.driver, list(drivers))
        found.append(Fault(path=(*path, "driver"), problem=problem, remedy=remedy))
    elif kind == "count" and measured:
        problem = f"{entry.driver} is a count, and this item is measured by length."
        found.append(Fault(path=(*path, "driver"), problem=problem, remedy="Use a length."))
    one_per = 1
    if kind is not None:
        one_per = _one_per(entry, kind, measured, (*path, "one_per"), found)
    return Need(
        id=name,
        driver=entry.driver,
        each=entry.each,
        one_per=one_per,
        when=build_conditions(entry.when, (*path, "when"), found),
        rule=".".join(str(step) for step in path),
    )


def _one_per(entry: NeedEntry, kind: str, measured: bool, path: Path, found: list[Fault]) -> int:
    """Return how much of the driver one portion is for: nm of a length, or a count."""
    if entry.one_per is None:
        if kind == "length" and not measured:
            problem = f"{entry.driver} is a length, so it must be said how much of it takes one."
            found.append(Fault(path=path, problem=problem, remedy="Write one_per: 6 ft, say."))
        return 1
    if measured:
        problem = "A measured item takes the length of its driver as it is."
        found.append(Fault(path=path, problem=problem, remedy="Leave one_per out."))
        return 1
    return portion(entry.one_per, kind, path, found)


def _share(text: str, path: Path, found: list[Fault]) -> Fraction:
    try:
        return share(text)
    except QuantityError as error:
        found.append(Fault(path=path, problem=str(error)))
        return Fraction(0)


def _pack(entry: PackEntry, measured: bool, path: Path, found: list[Fault]) -> Pack:
    read = length if measured else count
    sizes = []
    written = [("holds",), *(("also", at) for at in range(len(entry.also)))]
    for place, raw in zip(written, [entry.holds, *entry.also], strict=True):
        try:
            size = read(raw)
            if size == 0:
                raise QuantityError("A pack holds something. Write more than zero.")
            sizes.append(size)
        except QuantityError as error:
            found.append(Fault(path=(*path, *place), problem=str(error)))
            sizes.append(1)
    return Pack(name=entry.name, holds=sizes[0], also=tuple(sizes[1:]))
