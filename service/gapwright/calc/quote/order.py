"""The bill of a whole job: what is used, and what is ordered, strips by their width.

Needs are added up over all arrays before spare, minimum and whole packs are taken, so that two
arrays never order two packs where one does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial

import msgspec

from gapwright.calc.bill import (
    Drivers,
    Needed,
    Part,
    Tools,
    bill,
    is_strip,
    pack_size_of,
    quantity_of,
    quick_drivers,
    tools_of,
)
from gapwright.calc.conditions import applies
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
from gapwright.rulesets.ruleset import Item, Mesh, RuleSet

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


class BillRow(msgspec.Struct, frozen=True, kw_only=True):
    """An item of a job's bill, mesh in one strip width [nm]; `use` and `order` are None if unused.

    `use_weight` and `pack_weight` are None unless the item is mesh.
    """

    item: Item
    width_nm: int | None
    pack_size: Figure[int]
    use: Figure[UseLine | None]
    order: Figure[OrderLine | None]
    use_weight: Figure[Weight | None] = Figure(None)
    pack_weight: Figure[Weight | None] = Figure(None)


class JobBill(msgspec.Struct, frozen=True, kw_only=True):
    """The bill of a job; `estimated` and `counted` are what drives it, by thumb and by layout.

    `plans` say how the rolls of drawn planes are cut, by width, in the order of the layout's
    strips.
    """

    rows: Figure[tuple[BillRow, ...]]
    plans: Figure[tuple[WidthPlan, ...]]
    tools: Figure[Tools]
    estimated_perimeter: Figure[int]
    estimated: Drivers
    counted: Drivers


class _Portion(msgspec.Struct, frozen=True, kw_only=True):
    """What the arrays and sides with strips of some widths need; one width has a cut plan."""

    bills: tuple[Needed, ...]
    plans: Figure[tuple[WidthPlan, ...]]
    estimated: Drivers
    counted: Drivers

    def parts(self, item: Item) -> tuple[Part, ...]:
        """Return what an item is needed for, added up over estimated and laid-out arrays."""
        found: dict[str, Part] = {}
        for part in (part for needed in self.bills for part in needed[item.id].value):
            before = found[part.rule].quantity.amount if part.rule in found else 0
            quantity = Amount(before + part.quantity.amount, item.measured)
            found[part.rule] = msgspec.structs.replace(part, quantity=quantity)
        return tuple(found.values())


def job_bill(job: Job, found: Figure[tuple[JobStrip, ...]], rules: RuleSet) -> JobBill:
    """Return the bill of a job. Arrays that no stock strip suits bring nothing to it.

    Mesh is sorted by its width, so that planes given in another order have the same bill.
    """
    strips = found.value
    widths = rules.figure(lambda: {strip.width_nm for strip in found.value})
    known = sorted(width for width in widths.value if width is not None)
    everything = _portion(job, strips, rules, known)
    by_width: dict[int | None, _Portion] = {
        width: everything if len(known) == 1 else _portion(job, strips, rules, [width])
        for width in known
    }

    def rows() -> tuple[BillRow, ...]:
        depend_on(widths)
        return tuple(
            _row(item, width, portion, widths, job.roll_nm, rules)
            for item in rules.bill
            if applies(item.when, job.facts)
            for width, portion in (by_width if is_strip(item) else {None: everything}).items()
        )

    def tools() -> Tools:
        depend_on(widths)
        return tools_of(job.facts, rules) if everything.bills else Tools(needed=(), helpful=())

    return JobBill(
        rows=rules.figure(rows),
        plans=rules.figure(lambda: tuple(_plans(job, strips, by_width))),
        tools=rules.figure(tools),
        estimated_perimeter=rules.figure(lambda: sum(a.perimeter_nm.value for a in job.areas)),
        estimated=everything.estimated,
        counted=everything.counted,
    )


def _row(
    item: Item,
    width: int | None,
    portion: _Portion,
    widths: Figure[set[int | None]],
    roll_nm: int | None,
    rules: RuleSet,
) -> BillRow:
    pack_size = rules.figure(lambda: pack_size_of(item, roll_nm))
    use = rules.figure(partial(_use, item, width, portion, widths))
    order = rules.figure(partial(_order, item, width, use, pack_size, portion))
    row = BillRow(item=item, width_nm=width, pack_size=pack_size, use=use, order=order)
    mesh = rules.mesh
    if width is None or mesh is None:
        return row

    def used() -> Weight | None:
        return _weight(width, use.value.quantity.amount, mesh) if use.value else None

    def packed() -> Weight | None:
        return _weight(width, pack_size.value, mesh) if item.pack else None

    return msgspec.structs.replace(
        row, use_weight=rules.figure(used), pack_weight=rules.figure(packed)
    )


def _use(
    item: Item, width: int | None, portion: _Portion, widths: Figure[set[int | None]]
) -> UseLine | None:
    depend_on(widths)  # arrays without a strip bring nothing to any line
    parts = portion.parts(item)
    quantity = quantity_of(item, parts)
    if not quantity:
        return None
    return UseLine(
        item=item.id,
        description=item.description,
        quantity=Amount(quantity, item.measured),
        unit=Unit(item.measured),
        strip_width=None if width is None else SectionDown(width),
        weight=None,
        parts=parts,
        rule=item.rule,
    )


def _order(
    item: Item,
    width: int | None,
    use: Figure[UseLine | None],
    pack_size: Figure[int],
    portion: _Portion,
) -> OrderLine | None:
    if use.value is None:
        return None
    quantity, size = use.value.quantity.amount, pack_size.value
    packs = whole(quantity, size)
    if item.pack is not None and width is not None:
        packs = max(packs, _rolls(portion, size))
    return OrderLine(
        item=item.id,
        description=item.description,
        strip_width=use.value.strip_width,
        packs=packs,
        pack=item.pack.name if item.pack else EACH,
        pack_size=Amount(size, item.measured),
        remaining=Remaining(packs * size - quantity, item.measured),
        unit=Unit(item.measured),
        weight=None,
    )


def _weight(width_nm: int, length_nm: int, mesh: Mesh) -> Weight:
    return Weight(weigh_strip(width_nm, length_nm, mesh).weight_g)


def _plans(
    job: Job, strips: Sequence[JobStrip], by_width: Mapping[int | None, _Portion]
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
        bills.append(bill(estimated, job.facts, rules))
    if laid:
        bills.append(counted_bill(counts, job.facts, rules))
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
