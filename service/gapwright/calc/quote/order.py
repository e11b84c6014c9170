"""The bill of a whole job: what is used, and what is ordered, strips by their width.

Needs are added up over all arrays before spare, minimum and whole packs are taken, so that two
arrays never order two packs where one does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import msgspec

from gapwright.calc.bill import (
    Drivers,
    Line,
    Lines,
    Part,
    Tools,
    bill,
    is_strip,
    line_of,
    quick_drivers,
    tools_of,
)
from gapwright.calc.layout.counts import (
    WidthPlan,
    counted_bill,
    counts_of,
    plan_cuts,
)
from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.quote.job import Area, Job, JobStrip, drawn_strips, width_of
from gapwright.calc.weight import weigh_strip
from gapwright.quantity.output import Amount, Remaining, SectionDown, Unit, Weight
from gapwright.quantity.whole import whole
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import Item, RuleSet

EACH = "each"
"""What an item is ordered by that is sold in no packs."""


class UseLine(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Quantity of an item that the job uses, spares included; mesh has one line per strip width."""

    item: str
    """The id of the item in the rule set."""
    description: str
    """What the item is."""
    quantity: Amount
    """How much the job uses, in `unit`."""
    unit: Unit
    """Pieces (`each`), or the length unit of mesh."""
    strip_width: SectionDown | None
    """The strip width of mesh; null for other items."""
    weight: Weight | None
    """Weight of the mesh used; null for other items or if unknown."""
    parts: tuple[Part, ...]
    """The needs that add up to the quantity."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""


class OrderLine(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What to order of an item; `weight` is that of one pack of mesh."""

    item: str
    """The id of the item in the rule set."""
    description: str
    """What the item is."""
    strip_width: SectionDown | None
    """The strip width of mesh; null for other items."""
    packs: int
    """Number of packs."""
    pack: str
    """The kind of pack, such as roll or box."""
    pack_size: Amount
    """Content of one pack, in `unit`."""
    remaining: Remaining
    """What is left over, in `unit`."""
    unit: Unit
    """Pieces (`each`), or the length unit of mesh."""
    weight: Weight | None
    """Weight of one pack of mesh; null for other items or if unknown."""


class JobBill(msgspec.Struct, frozen=True, kw_only=True):
    """The bill of a job; `estimated` and `counted` are what drives it, by thumb and by layout.

    `widths` are those of all strips: which lines there are follows from them.
    `plans` say how the rolls of drawn planes are cut, by width, in the order of the layout's
    strips.
    """

    widths: Figure[Any]
    uses: tuple[Figure[UseLine], ...]
    orders: tuple[Figure[OrderLine], ...]
    plans: Figure[tuple[WidthPlan, ...]]
    tools: Tools
    estimated_perimeter: Figure[int]
    estimated: Drivers
    counted: Drivers


class _Portion(msgspec.Struct, frozen=True, kw_only=True):
    """What the arrays and sides with strips of some widths need; one width has a cut plan."""

    bills: tuple[Lines, ...]
    plans: Figure[tuple[WidthPlan, ...]]
    estimated: Drivers
    counted: Drivers

    def parts(self, item: Item) -> tuple[Part, ...]:
        """Return what an item is needed for, added up over estimated and laid-out arrays."""
        found: dict[str, Part] = {}
        for line in (lines[item.id] for lines in self.bills if item.id in lines):
            for part in line.value.parts:
                before = found[part.rule].quantity.amount if part.rule in found else 0
                quantity = Amount(before + part.quantity.amount, item.measured)
                found[part.rule] = msgspec.structs.replace(part, quantity=quantity)
        return tuple(found.values())


def job_bill(job: Job, strips: Sequence[JobStrip], rules: RuleSet) -> JobBill:
    """Return the bill of a job. Arrays that no stock strip suits bring nothing to it.

    Mesh is sorted by its width, so that planes given in another order have the same bill.
    """
    widths = rules.figure(lambda: {strip.width_nm for strip in strips})
    known = sorted(width for width in widths.value if width is not None)
    everything = _portion(job, strips, rules, known)
    by_width = {
        width: everything if len(known) == 1 else _portion(job, strips, rules, [width])
        for width in known
    }
    uses: list[Figure[UseLine]] = []
    orders: list[Figure[OrderLine]] = []
    for item, width, portion in _rows(rules, by_width, everything):
        line = rules.figure(partial(_line, item, portion, widths, job))
        if line.value.quantity.amount:
            uses.append(rules.figure(partial(_use, item, line, width)))
            orders.append(rules.figure(partial(_order, item, line, width, portion)))
    return JobBill(
        widths=widths,
        uses=tuple(uses),
        orders=tuple(orders),
        plans=rules.figure(lambda: tuple(_plans(job, strips, by_width))),
        tools=tools_of(job.facts, rules) if everything.bills else Tools(needed=(), helpful=()),
        estimated_perimeter=rules.figure(lambda: sum(a.perimeter_nm.value for a in job.areas)),
        estimated=everything.estimated,
        counted=everything.counted,
    )


def _rows(
    rules: RuleSet, by_width: Mapping[int, _Portion], everything: _Portion
) -> Iterator[tuple[Item, int | None, _Portion]]:
    """Yield each item of the bill, mesh for strips once for each width."""
    for item in rules.bill:
        if is_strip(item):
            yield from ((item, width, portion) for width, portion in by_width.items())
        else:
            yield item, None, everything


def _line(item: Item, portion: _Portion, widths: Figure[set[int | None]], job: Job) -> Line:
    depend_on(widths)  # arrays without a strip bring nothing to any line
    return line_of(item, portion.parts(item), job.roll_nm)


def _use(item: Item, line: Figure[Line], width: int | None) -> UseLine:
    return UseLine(
        item=item.id,
        description=item.description,
        quantity=line.value.quantity,
        unit=Unit(item.measured),
        strip_width=None if width is None else SectionDown(width),
        weight=None,
        parts=line.value.parts,
        rule=item.rule,
    )


def _order(item: Item, line: Figure[Line], width: int | None, portion: _Portion) -> OrderLine:
    packs, quantity = line.value.packs, line.value.quantity.amount
    pack_size = packs.pack_size.amount if packs else 1
    count = packs.count if packs else quantity
    if packs is not None and width is not None:
        count = max(count, _rolls(portion, pack_size))
    return OrderLine(
        item=item.id,
        description=item.description,
        strip_width=None if width is None else SectionDown(width),
        packs=count,
        pack=packs.name if packs else EACH,
        pack_size=Amount(pack_size, item.measured),
        remaining=Remaining(count * pack_size - quantity, item.measured),
        unit=Unit(item.measured),
        weight=None,
    )


def weighed(line: Figure[UseLine] | Figure[OrderLine], rules: RuleSet) -> Figure[Weight | None]:
    """Return the weight of a line of mesh, or of one pack of it where it is ordered."""

    def weight() -> Weight | None:
        found = line.value
        length = found.quantity if isinstance(found, UseLine) else found.pack_size
        sold = isinstance(found, UseLine) or found.pack != EACH
        if found.strip_width is None or rules.mesh is None or not sold:
            return None
        return Weight(weigh_strip(found.strip_width.nm, length.amount, rules.mesh).weight_g)

    return rules.figure(weight)


def _plans(
    job: Job, strips: Sequence[JobStrip], by_width: Mapping[int, _Portion]
) -> Iterator[WidthPlan]:
    """Yield the plan of each width that drawn planes take, in the order of their strips."""
    for width in dict.fromkeys(s.sizing.strip_nm.value for s in drawn_strips(job, strips)):
        for each in by_width[width].plans.value if width is not None else ():
            yield WidthPlan(strip_nm=width, plan=each.plan)


def _portion(
    job: Job, strips: Sequence[JobStrip], rules: RuleSet, widths: Sequence[int]
) -> _Portion:
    """Return the portion of a job that takes strips of these widths."""
    areas = [area for area in job.areas if width_of(area, strips).value in widths]
    names = {s.name for s in drawn_strips(job, strips) if s.sizing.strip_nm.value in widths}
    laid = [one for plane in job.laid if (one := _only(plane, names)).runs]
    counts = counts_of(laid, rules)
    estimated = _estimated(areas, rules) if areas else {}
    bills = []
    if areas:
        bills.append(bill(estimated, job.facts, job.roll_nm, rules))
    if laid:
        bills.append(counted_bill(counts, job.facts, job.roll_nm, rules))
    none: Figure[tuple[WidthPlan, ...]] = Figure(())
    return _Portion(
        bills=tuple(bills),
        plans=plan_cuts(laid, job.roll_nm, rules) if len(widths) == 1 else none,
        estimated=estimated,
        counted=counts.drivers(rules) if laid else {},
    )


def _estimated(areas: Sequence[Area], rules: RuleSet) -> Drivers:
    def corners() -> int:
        usual = rules.values
        return sum(one.corners.value if one.corners else usual.default_corners for one in areas)

    return quick_drivers(
        rules.figure(lambda: sum(area.perimeter_nm.value for area in areas)),
        rules.figure(corners),
        Figure(sum(area.penetrations for area in areas)),
        rules,
    )


def _only(plane: LaidPlane, strips: set[str]) -> LaidPlane:
    """Return a plane with the runs that take some strips; a corner goes with what begins there."""
    return msgspec.structs.replace(
        plane,
        runs=tuple(run for run in plane.runs if run.strip in strips),
        meetings=tuple(edge for edge in plane.meetings if edge.strip in strips),
    )


def _rolls(portion: _Portion, roll_nm: int) -> int:
    """Return how many rolls a width takes: those of the cut plan, and those of the estimate.

    Pieces do not fill rolls to the end, so a plan can take more rolls than the length alone; what
    is left of them is not counted on for arrays that were only estimated.
    """
    planned = sum(len(each.plan.rolls) for each in portion.plans.value)
    estimated = portion.estimated.get("mesh_length")
    return planned + (whole(estimated.value, roll_nm) if estimated else 0)
