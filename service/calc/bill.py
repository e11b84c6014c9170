"""The bill of materials: every line is data in the rule file; this is the arithmetic they share."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any
from weakref import WeakKeyDictionary

import msgspec

from service.calc.conditions import holds
from service.calc.trace import Step
from service.quantity.whole import whole
from service.rulesets.ruleset import Item, Need, Pack, RuleSet, Tool, Zone
from service.rulesets.values import Values


class Part(msgspec.Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """How much of an item one need takes (nm for mesh, else a count), and the need's rule."""

    need: str
    quantity: int
    rule: str


class Packs(msgspec.Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """What is bought: `count` packs that hold `holds` each (nm for mesh, else a count)."""

    name: str
    count: int
    holds: int
    left_over: int


class Line(msgspec.Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """One line of the bill; `quantity` is in nm where the item is measured, else a count."""

    item: Item
    quantity: int
    parts: tuple[Part, ...]
    packs: Packs | None


class Bill(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Lines in the rule file's order, and the tools for the job."""

    lines: tuple[Line, ...]
    tools: tuple[Tool, ...]
    trace: tuple[Step, ...]


class Zoned(msgspec.Struct, frozen=True, kw_only=True):
    """What one zone's share of the perimeter drives."""

    name: str
    zone: Zone
    drivers: Mapping[str, int]


_LENGTHS = ("perimeter", "mesh_length")


def quick_drivers(
    perimeter_nm: int, corners: int, penetrations: int, values: Values
) -> dict[str, int]:
    """Return what drives the lines of a quick estimate: lengths in nm, all else counts."""
    above, below = _growth(values)
    return {
        "perimeter": perimeter_nm,
        "mesh_length": whole(perimeter_nm * above, below),
        "corners": corners,
        "penetrations": penetrations,
    }


@lru_cache(maxsize=256)
def _growth(values: Values) -> tuple[int, int]:
    """Return by which fraction a perimeter is multiplied to a length of mesh."""
    return (1 + values.mesh_allowance).as_integer_ratio()


def zoned_of(lengths_nm: Mapping[str, int], rules: RuleSet) -> tuple[Zoned, ...]:
    """Return what the perimeter drives in each zone, by its length there [nm]."""
    return tuple(
        Zoned(
            name=name,
            zone=rules.zones[name],
            drivers=quick_drivers(length, 0, 0, rules.zones[name].values),
        )
        for name, length in lengths_nm.items()
    )


def bill(
    drivers: Mapping[str, int],
    facts: Mapping[str, Any],
    roll_nm: int | None,
    rules: RuleSet,
    zoned: tuple[Zoned, ...] = (),
    *,
    counted: bool = False,
    assumed: tuple[tuple[str, str], ...] = (),
) -> Bill:
    """Return the bill for a job's drivers and facts.

    `zoned` tells how the perimeter is shared out among zones; ratios of what it drives may differ.
    Corners, penetrations and items that drive others count as standard. `counted` takes the needs
    that a layout drives instead of the thumb rules, which stand for what has none of its own.

    `roll_nm` chooses among the lengths that the mesh's pack is also sold in. A driver may be an
    item that stands earlier in the rule file; it counts before its spare is added.
    """
    chosen = _choose(rules, tuple(facts.items()), counted, assumed)
    known = defaultdict(int, drivers)
    if zoned:
        lines = _zoned_lines(chosen.items, known, roll_nm, zoned)
    else:
        lines = _lines(chosen.rows, known, roll_nm)
    trace = chosen.trace(tuple(lines), zoned)
    return Bill(lines=tuple(lines.values()), tools=chosen.tools, trace=trace)


Billed = tuple[Item, tuple[Need, ...], tuple[str, ...]]
"""An item, what it is needed for, and the rules that it cites."""


_Ratio = tuple[str, int, int]
"""A need's driver, and how much of an item it takes for how much of that."""
_Row = tuple[int, str, _Ratio, tuple[_Ratio, ...], Callable[[tuple[int, ...], int | None], Line]]
"""An item that is needed: its place and id, its first need, further ones, and what makes its line.

Small counts come up again and again, so the lines that were made are kept.
"""
_MOST_KEPT = 1024


def _rows(items: tuple[Billed, ...]) -> tuple[_Row, ...]:
    rows = []
    for at, (item, needs, _) in enumerate(items):
        if needs:
            first, *more = [(need.driver, need.each, need.one_per) for need in needs]
            rows.append((at, item.id, first, tuple(more), _maker(item, needs)))
    return tuple(rows)


def _maker(item: Item, needs: tuple[Need, ...]) -> Callable[[tuple[int, ...], int | None], Line]:
    @lru_cache(maxsize=_MOST_KEPT)
    def make(used: tuple[int, ...], roll_nm: int | None) -> Line:
        return _line(item, needs, used, roll_nm)

    return make


def _lines(
    rows: tuple[_Row, ...], known: defaultdict[str, int], roll_nm: int | None
) -> dict[int, Line]:
    """Return the lines of a bill, each by the place of its item; `known` takes up their amounts."""
    # rounded up as by `whole`, which would be called for each line of each bill
    lines: dict[int, Line] = {}
    for at, item, (driver, each, one_per), more, make in rows:
        amount = -(-known[driver] * each // one_per)
        used: tuple[int, ...] = (amount,)
        for driver, each, one_per in more:
            used = (*used, -(-known[driver] * each // one_per))
            amount += used[-1]
        known[item] = amount
        if amount:
            lines[at] = make(used, roll_nm)
    return lines


def _zoned_lines(
    items: tuple[Billed, ...],
    known: defaultdict[str, int],
    roll_nm: int | None,
    zoned: tuple[Zoned, ...],
) -> dict[int, Line]:
    """Return the lines of a bill over several zones, as `_lines` does."""
    lines: dict[int, Line] = {}
    for at, (item, needs, _) in enumerate(items):
        used = [_zoned_quantity(item, need, known, zoned) for need in needs]
        known[item.id] = sum(used)
        if any(used):
            lines[at] = _line(item, needs, used, roll_nm)
    return lines


class _Chosen:
    """What applies to a job: the items, and tools; lines and traces that came up are kept."""

    def __init__(self, items: tuple[Billed, ...], tools: tuple[Tool, ...]) -> None:
        self.items = items
        self.tools = tools
        self.rows = _rows(items)
        self._traces: dict[tuple[int, ...], tuple[Step, ...]] = {}

    def trace(self, billed: tuple[int, ...], zoned: tuple[Zoned, ...]) -> tuple[Step, ...]:
        """Return the steps of the lines of the items at these places."""
        if zoned:
            return self._zoned_trace(billed, zoned)
        trace = self._traces.get(billed)
        if trace is None:
            trace = _steps([self.items[at] for at in billed])
            if len(self._traces) >= _MOST_KEPT:
                self._traces.clear()
            self._traces[billed] = trace
        return trace

    def _zoned_trace(self, billed: tuple[int, ...], zoned: tuple[Zoned, ...]) -> tuple[Step, ...]:
        follows: dict[str, tuple[str, ...]] = {}
        citing: list[Billed] = []
        for item, needs, cites in self.items:
            follows[item.id] = more = _zone_cites(item, needs, zoned, follows)
            citing.append((item, needs, (*cites, *more)))
        return _steps([citing[at] for at in billed])


_Asked = tuple[tuple[tuple[str, Any], ...], bool, tuple[tuple[str, str], ...]]
_kept: WeakKeyDictionary[RuleSet, dict[_Asked, _Chosen]] = WeakKeyDictionary()
"""What was chosen already; it goes with its rule set, so that none is held for its sake."""


def _choose(
    rules: RuleSet,
    facts: tuple[tuple[str, Any], ...],
    counted: bool,
    assumed: tuple[tuple[str, str], ...],
) -> _Chosen:
    """Return what of a rule set's bill applies to the facts of a job, chosen once for each."""
    kept = _kept.get(rules)
    if kept is None:
        kept = _kept[rules] = {}
    asked = (facts, counted, assumed)
    if asked not in kept:
        kept[asked] = _chosen(rules, *asked)
    return kept[asked]


def _chosen(
    rules: RuleSet,
    facts: tuple[tuple[str, Any], ...],
    counted: bool,
    assumed: tuple[tuple[str, str], ...],
) -> _Chosen:
    known = dict(facts)
    items = []
    follows: dict[str, tuple[str, ...]] = {"mesh_length": ("values.mesh_allowance",)}
    for driver, rule in assumed:
        follows[driver] = (*follows.get(driver, ()), rule)
    for item in rules.bill:
        if holds(item.when, known):
            asked = item.counted if counted else item.needs
            needs = tuple(need for need in asked if holds(need.when, known))
            cites = _cites(needs, follows)
            follows[item.id] = cites
            more = ["spare"] * bool(item.spare) + ["minimum"] * bool(item.minimum)
            items.append((item, needs, (*cites, *(f"{item.rule}.{name}" for name in more))))
    tools = tuple(tool for tool in rules.tools if holds(tool.when, known))
    return _Chosen(tuple(items), tools)


def _cites(needs: tuple[Need, ...], follows: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Return the rules that a line follows from: its needs, and what their drivers follow from."""
    cites = [rule for need in needs for rule in (need.rule, *follows.get(need.driver, ()))]
    return tuple(dict.fromkeys(cites))


def _zone_cites(
    item: Item,
    needs: tuple[Need, ...],
    zoned: tuple[Zoned, ...],
    follows: Mapping[str, tuple[str, ...]],
) -> tuple[str, ...]:
    """Return the rules of zones that a line follows from."""
    cites = [rule for need in needs for rule in follows.get(need.driver, ())]
    for part in zoned:
        for need in needs:
            if need.driver in _LENGTHS and (item.id, need.id) in part.zone.ratios:
                cites.append(f"zones.{part.name}.bill.{item.id}.{need.id}")
            if need.driver == "mesh_length" and "mesh_allowance" in part.zone.changed:
                cites.append(f"zones.{part.name}.values.mesh_allowance")
    return tuple(dict.fromkeys(cites))


def _steps(billed: list[Billed]) -> tuple[Step, ...]:
    """Return the steps of the lines of a bill."""
    return tuple(
        [step for at, (item, _, cites) in enumerate(billed) for step in _step(at, item, cites)]
    )


def _step(at: int, item: Item, cites: tuple[str, ...]) -> tuple[Step, ...]:
    """Return a step for each figure of a line."""
    ends = (f"{item.rule}.spare", f"{item.rule}.minimum")
    packed = (*cites, f"{item.rule}.pack")
    return (
        Step(f"/lines/{at}/quantity", cites),
        Step(f"/lines/{at}/parts", tuple(rule for rule in cites if rule not in ends)),
        *((Step(f"/lines/{at}/packs", packed),) if item.pack else ()),
        *((Step(f"/lines/{at}/length", cites),) if item.measured else ()),
        *((Step(f"/lines/{at}/rolls", packed),) if item.measured and item.pack else ()),
    )


def _line(item: Item, needs: tuple[Need, ...], used: Sequence[int], roll_nm: int | None) -> Line:
    """Return an item's line for what each of its needs takes."""
    parts = [
        Part(need=need.id, quantity=amount, rule=need.rule)
        for need, amount in zip(needs, used, strict=True)
    ]
    return line_of(item, tuple(parts), roll_nm)


def line_of(item: Item, parts: tuple[Part, ...], roll_nm: int | None) -> Line:
    """Return an item's line: its parts added up, with spare and minimum, in whole packs."""
    total = sum(part.quantity for part in parts)
    quantity = max(_with_spare(total, item.spare), item.minimum) if total else 0
    packs = _packs(item.pack, quantity, roll_nm if item.measured else None)
    return Line(item=item, quantity=quantity, parts=parts, packs=packs)


def _zoned_quantity(
    item: Item, need: Need, drivers: Mapping[str, int], zoned: tuple[Zoned, ...]
) -> int:
    """Return what a need takes over all zones, rounded up once."""
    if need.driver not in _LENGTHS:
        return whole(drivers.get(need.driver, 0) * need.each, need.one_per)
    total = Fraction(0)
    for part in zoned:
        ratio = part.zone.ratios.get((item.id, need.id), need)
        total += Fraction(part.drivers[need.driver] * ratio.each, ratio.one_per)
    return whole(total.numerator, total.denominator)


def _with_spare(used: int, spare: Fraction) -> int:
    return used + whole(used * spare.numerator, spare.denominator) if spare else used


def _packs(pack: Pack | None, quantity: int, roll_nm: int | None) -> Packs | None:
    if pack is None:
        return None
    holds_each = roll_nm if roll_nm in (pack.holds, *pack.also) else pack.holds
    count = whole(quantity, holds_each)
    return Packs(
        name=pack.name, count=count, holds=holds_each, left_over=count * holds_each - quantity
    )
