"""The bill of materials: every line is data in the rule file; this is the arithmetic they share."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec

from gapwright.calc.conditions import applies
from gapwright.quantity.output import Amount, Remaining, RunUp, Unit
from gapwright.quantity.whole import whole
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import Item, Need, RuleSet, Zone

Drivers = Mapping[str, Figure[int]]
"""What drives the lines of a bill: lengths [nm] and counts."""
Zoned = tuple[Zone, Drivers]
"""A zone and what its share of the perimeter drives."""


class Part(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How much of an item one need takes, and the rule that says so."""

    need: str
    """The name of the need."""
    quantity: Amount
    """How much it takes, in the unit of the line."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""


class Packs(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What to buy: packs, the content of a pack, and what remains."""

    count: int
    """Number of packs."""
    name: str
    """The kind of pack, such as roll or box."""
    pack_size: Amount
    """Content of one pack, in `unit`."""
    remaining: Remaining
    """What is left over, in `unit`."""
    unit: Unit
    """Pieces (`each`), or the length unit of mesh."""


class Line(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One line of the bill. `length` and `rolls` are present for mesh.

    `thumb_rule` is present if a layout was counted: the quick estimate, in the same unit.
    """

    item: str
    """The id of the item in the rule set."""
    description: str
    """What the item is."""
    quantity: Amount
    """How much the job needs, in `unit`."""
    unit: Unit
    """Pieces (`each`), or the length unit of mesh."""
    packs: Packs | None
    """What to buy; null if the item is not sold in packs."""
    parts: tuple[Part, ...]
    """The needs that add up to the quantity."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""
    thumb_rule: Amount | msgspec.UnsetType = msgspec.UNSET
    """The quick estimate in `unit`. Present only if a layout was counted."""
    length: RunUp | msgspec.UnsetType = msgspec.UNSET
    """The length of mesh. Present only for mesh."""
    rolls: int | msgspec.UnsetType = msgspec.UNSET
    """Number of rolls. Present only for mesh."""


Needed = dict[str, Figure[tuple[Part, ...]]]
"""What each item of the rule set is needed for, empty if it is not needed."""
Lines = dict[str, Figure[Line | None]]
"""The line of each item of the rule set, None if it is not needed."""


class ToolResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A tool for the job."""

    tool: str
    """The id of the tool in the rule set."""
    description: str
    """What the tool is."""


class Tools(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The tools that the job needs, and those that help."""

    needed: tuple[ToolResult, ...]
    """Tools that the job needs."""
    helpful: tuple[ToolResult, ...]
    """Tools that help."""


_LENGTHS = ("perimeter", "mesh_length")
_TAB_DRIVERS = ("tabs", "returns")
_STRIP_DRIVERS = ("mesh_length", "cut_mesh")


def quick_drivers(
    perimeter_nm: Figure[int],
    corners: Figure[int],
    penetrations: Figure[int],
    rules: RuleSet,
    zone: Zone | None = None,
) -> dict[str, Figure[int]]:
    """Return what drives the lines of a quick estimate, in a zone where one is given."""
    values = zone.values if zone else rules.values

    def mesh_length() -> int:
        grown = perimeter_nm.value * (1 + values.waste_factor)
        return whole(grown.numerator, grown.denominator)

    return {
        "perimeter": perimeter_nm,
        "mesh_length": rules.figure(mesh_length),
        "corners": corners,
        "penetrations": penetrations,
    }


def zoned_of(lengths_nm: Mapping[str, Figure[int]], rules: RuleSet) -> tuple[Zoned, ...]:
    """Return what the perimeter drives in each zone, by its length there [nm]."""
    none: Figure[int] = Figure(0)
    zones = [(rules.zones[name], length) for name, length in lengths_nm.items()]
    return tuple((zone, quick_drivers(nm, none, none, rules, zone)) for zone, nm in zones)


def bill(
    drivers: Drivers,
    facts: Mapping[str, Any],
    rules: RuleSet,
    zoned: Sequence[Zoned] = (),
    *,
    counted: bool = False,
    unattached: Sequence[Zoned] = (),
) -> Needed:
    """Return what each item is needed for by a job's drivers and facts, in the rule file's order.

    `zoned` says how the perimeter is shared out among zones; ratios of what it drives may differ.
    Corners, penetrations and items that drive others count as standard. `counted` takes the needs
    that a layout drives instead of the quick estimate, which applies to the rest. `unattached` is
    what the perimeter drives along runs whose attachment points are not known: there the quick
    estimate takes the place of tabs and returns.

    A driver may be an item that comes earlier in the rule file; it counts before its spare is
    added.
    """
    known = dict(drivers)
    needed: Needed = {}
    for item in rules.bill:
        needs = item.counted if counted else item.needs
        parts = rules.figure(partial(_parts, item, needs, facts, known, zoned, unattached))
        known[item.id] = rules.figure(partial(_total, parts))
        needed[item.id] = parts
    return needed


def lines_of(needed: Needed, roll_nm: int | None, rules: RuleSet) -> Lines:
    """Return the line of each item.

    `roll_nm` chooses among the lengths that the mesh's pack is also sold in.
    """
    return {
        item.id: rules.figure(partial(_line, item, needed[item.id], roll_nm)) for item in rules.bill
    }


def _parts(
    item: Item,
    needs: Sequence[Need],
    facts: Mapping[str, Any],
    known: Drivers,
    zoned: Sequence[Zoned],
    unattached: Sequence[Zoned],
) -> tuple[Part, ...]:
    if not applies(item.when, facts):
        return ()
    shared = [(need, zoned) for need in needs]
    if unattached:
        shared += [(need, unattached) for need in _instead_of_tabs(item)]
    return tuple(
        Part(
            need=need.id,
            quantity=Amount(_quantity(item, need, known, among), item.measured),
            rule=need.rule,
        )
        for need, among in shared
        if applies(need.when, facts)
    )


def _instead_of_tabs(item: Item) -> Iterator[Need]:
    """Yield the needs by perimeter that tabs and returns replace in a layout."""
    counted = {need.id for need in item.counted}
    if any(need.driver in _TAB_DRIVERS for need in item.counted):
        yield from (n for n in item.needs if n.driver in _LENGTHS and n.id not in counted)


def _total(parts: Figure[tuple[Part, ...]]) -> int:
    return sum(part.quantity.amount for part in parts.value)


def _quantity(item: Item, need: Need, known: Drivers, zoned: Sequence[Zoned]) -> int:
    """Return what a need takes, over all zones where the perimeter drives it; rounded up once."""
    if not zoned or need.driver not in _LENGTHS:
        amount = known[need.driver].value if need.driver in known else 0
        return whole(amount * need.each, need.one_per) if amount else 0
    total = Fraction(0)
    for zone, drivers in zoned:
        amount = drivers[need.driver].value
        if amount:
            ratio = zone.ratios.get((item.id, need.id)) or need
            total += Fraction(amount * ratio.each, ratio.one_per)
    return whole(total.numerator, total.denominator)


def quantity_of(item: Item, parts: Sequence[Part]) -> int:
    """Return how much of an item is used: its parts added up, with spare and minimum."""
    total = sum(part.quantity.amount for part in parts)
    if not total:
        return 0
    spare = item.spare
    quantity: int = total + whole(total * spare.numerator, spare.denominator)
    return max(quantity, item.minimum)


def pack_size_of(item: Item, roll_nm: int | None) -> int:
    """Return the content of a pack, 1 if the item is not sold in packs.

    `roll_nm` chooses among the lengths that the mesh's pack is also sold in.
    """
    pack = item.pack
    if pack is None:
        return 1
    return roll_nm if item.measured and roll_nm in pack.also else pack.pack_size


def _line(item: Item, parts: Figure[tuple[Part, ...]], roll_nm: int | None) -> Line | None:
    quantity = quantity_of(item, parts.value)
    if not quantity:
        return None
    packs = _packs(item, quantity, roll_nm)
    return Line(
        item=item.id,
        description=item.description,
        quantity=Amount(quantity, item.measured),
        unit=Unit(item.measured),
        packs=packs,
        parts=parts.value,
        rule=item.rule,
        length=RunUp(quantity) if item.measured else msgspec.UNSET,
        rolls=packs.count if packs and item.measured else msgspec.UNSET,
    )


def _packs(item: Item, quantity: int, roll_nm: int | None) -> Packs | None:
    if item.pack is None:
        return None
    pack_size = pack_size_of(item, roll_nm)
    count = whole(quantity, pack_size)
    return Packs(
        count=count,
        name=item.pack.name,
        pack_size=Amount(pack_size, item.measured),
        remaining=Remaining(count * pack_size - quantity, item.measured),
        unit=Unit(item.measured),
    )


def with_rolls(line: Line, rolls: int) -> Line:
    """Return a line of mesh with at least as many rolls as cut plans take.

    Pieces do not fill rolls to the end, and strips of different widths come from different rolls,
    so the plans can take more rolls than the length alone.
    """
    packs = line.packs
    if packs is None or not line.quantity.measured or rolls <= packs.count:
        return line
    left = rolls * packs.pack_size.amount - line.quantity.amount
    more = msgspec.structs.replace(packs, count=rolls, remaining=Remaining(left, True))
    return msgspec.structs.replace(line, packs=more, rolls=rolls)


def is_strip(item: Item) -> bool:
    """Return whether an item is the mesh that strips are cut from."""
    needs = (*item.needs, *item.counted)
    return item.measured and any(need.driver in _STRIP_DRIVERS for need in needs)


def roll_lengths_nm(rules: RuleSet) -> tuple[int, ...]:
    """Return the lengths in which mesh is sold, the usual one first [nm].

    Where no rolls are sold, a roll is as long as a piece.
    """
    packs = [item.pack for item in rules.bill if is_strip(item) and item.pack]
    sold = [size for pack in packs for size in (pack.pack_size, *pack.also)]
    return tuple(dict.fromkeys(sold)) or (rules.values.piece_length,)


def tools_of(facts: Mapping[str, Any], rules: RuleSet) -> Tools:
    """Return the tools that the facts of a job call for."""
    chosen = [tool for tool in rules.tools if applies(tool.when, facts)]

    def with_need(need: str) -> tuple[ToolResult, ...]:
        return tuple(
            ToolResult(tool=tool.id, description=tool.description)
            for tool in chosen
            if tool.need == need
        )

    return Tools(needed=with_need("needed"), helpful=with_need("helpful"))
