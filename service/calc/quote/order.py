"""The bill of a whole job: what is used, and what is ordered, strips by their width.

Needs are added up over all arrays before spare, minimum and whole packs are taken, so that two
arrays never order two packs where one does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.bill import Bill, Line, Part, bill, line_of, quick_drivers
from service.calc.layout.counts import counted_bill, counts_of, drivers_of, mesh_roll_nm, plan_cuts
from service.calc.layout.lay import LaidPlane
from service.calc.layout.trace import LayoutCites, cites_of, counted_follows
from service.calc.quote.job import Area, Job
from service.calc.quote.strips import Strip, drawn_strips, width_of
from service.calc.rolls import CutPlan
from service.calc.weight import weigh_strip
from service.quantity.whole import whole
from service.rulesets.ruleset import Item, RuleSet, Tool

_STRIP_DRIVERS = ("mesh_length", "cut_mesh")


class UseLine(msgspec.Struct, frozen=True, kw_only=True):
    """How much of an item a job uses, spare included; mesh stands once for each width [nm]."""

    line: Line
    width_nm: int | None
    weight_g: float | None
    """Of mesh, where the rule set says what it is made of."""


class OrderLine(msgspec.Struct, frozen=True, kw_only=True):
    """What is ordered of an item: `count` packs of `holds` each (nm for mesh, else a count)."""

    item: Item
    width_nm: int | None
    pack: str
    holds: int
    count: int
    left_over: int
    weight_g: float | None
    """Of one pack, where it is mesh."""


class WidthPlan(msgspec.Struct, frozen=True, kw_only=True):
    """How the pieces of one strip width are cut from its rolls."""

    width_nm: int
    plan: CutPlan


class JobBill(msgspec.Struct, frozen=True, kw_only=True):
    """The bill of a job; `estimated` and `counted` are what drives it, by thumb and by layout.

    `bills` are those that it was added up from, estimated and counted.
    """

    uses: tuple[UseLine, ...]
    orders: tuple[OrderLine, ...]
    plans: tuple[WidthPlan, ...]
    tools: tuple[Tool, ...]
    estimated: dict[str, int]
    counted: dict[str, int]
    bills: tuple[Bill, ...]
    laid: LayoutCites | None
    """What the drawn planes follow from, None where nothing is drawn."""


def job_bill(job: Job, strips: Sequence[Strip], rules: RuleSet) -> JobBill:
    """Return the bill of a job. Arrays that no stocked strip suits bring nothing to it.

    Mesh stands by its width, so that planes told in another order have the same bill; the plans
    come as in the layout, that of its usual strip first.
    """
    widths = {width for s in strips if (width := s.width_nm) is not None}
    everything = _Part.of(job, strips, rules, widths)
    one = len(widths) == 1
    by_width = {
        width: everything if one else _Part.of(job, strips, rules, {width})
        for width in sorted(widths)
    }
    uses: list[UseLine] = []
    for item in rules.bill:
        if is_strip(item):
            for width, part in by_width.items():
                uses += _used(item, width, part, job, rules)
        else:
            uses += _used(item, None, everything, job, rules)
    orders = tuple(_order(use, by_width, rules) for use in uses)
    return JobBill(
        uses=tuple(uses),
        orders=orders,
        plans=_plans(job, strips, by_width),
        tools=tuple(dict.fromkeys(tool for found in everything.bills for tool in found.tools)),
        estimated=everything.estimated,
        counted=everything.counted,
        bills=everything.bills,
        laid=_cites(job, strips, rules) if job.laid else None,
    )


def _plans(job: Job, strips: Sequence[Strip], by_width: dict[int, _Part]) -> tuple[WidthPlan, ...]:
    """Return the plan of each width that drawn planes take, in the order of their strips."""
    widths = dict.fromkeys(strip.sizing.strip_nm for strip in drawn_strips(job, strips))
    return tuple(
        WidthPlan(width_nm=width, plan=plan)
        for width in widths
        if width is not None and (plan := by_width[width].plan) is not None
    )


class _Part(msgspec.Struct, frozen=True, kw_only=True):
    """What the arrays and edges with strips of some widths come to; one width has a cut plan."""

    bills: tuple[Bill, ...]
    plan: CutPlan | None
    estimated: dict[str, int]
    counted: dict[str, int]

    @classmethod
    def of(cls, job: Job, strips: Sequence[Strip], rules: RuleSet, widths: set[int]) -> _Part:
        """Return the part of a job that takes strips of these widths."""
        areas = [area for area in job.areas if width_of(area, strips) in widths]
        named = {s.name for s in drawn_strips(job, strips) if s.sizing.strip_nm in widths}
        laid = [_only(area.plane, named) for area in job.laid]
        laid = [plane for plane in laid if plane.runs]
        bills: list[Bill] = []
        estimated = _estimated(areas, rules) if areas else {}
        if areas:
            bills.append(bill(estimated, job.facts, job.roll_nm, rules, assumed=job.assumed))
        plans = plan_cuts(laid, job.roll_nm, rules) if len(widths) == 1 else ()
        counts = counts_of(laid, plans, rules)
        if laid:
            follows = counted_follows(_cites(job, strips, rules))
            bills.append(counted_bill(counts, job.facts, job.roll_nm, rules, follows))
        plan = plans[0].plan if plans else None
        counted = drivers_of(counts, rules) if laid else {}
        return cls(bills=tuple(bills), plan=plan, estimated=estimated, counted=counted)

    def lines(self, item: Item) -> Iterator[Line]:
        """Yield the lines of an item, one from each bill that has it."""
        yield from (line for found in self.bills for line in found.lines if line.item is item)


def _estimated(areas: Sequence[Area], rules: RuleSet) -> dict[str, int]:
    usual = rules.values.usual_corners
    return quick_drivers(
        sum(area.perimeter_nm for area in areas),
        sum(usual if area.corners is None else area.corners for area in areas),
        sum(area.penetrations for area in areas),
        rules.values,
    )


def _only(plane: LaidPlane, strips: set[str]) -> LaidPlane:
    """Return a plane with the runs that take some strips; a corner goes with what begins there."""
    return msgspec.structs.replace(
        plane,
        runs=tuple(run for run in plane.runs if run.strip in strips),
        meetings=tuple(edge for edge in plane.meetings if edge.strip in strips),
    )


def _cites(job: Job, strips: Sequence[Strip], rules: RuleSet) -> LayoutCites:
    return cites_of([area.plane for area in job.laid], drawn_strips(job, strips), rules)


def is_strip(item: Item) -> bool:
    """Return whether an item is the mesh that strips are cut from."""
    needs = (*item.needs, *item.counted)
    return item.measured and any(need.driver in _STRIP_DRIVERS for need in needs)


def _used(
    item: Item, width: int | None, part: _Part, job: Job, rules: RuleSet
) -> Iterator[UseLine]:
    """Yield the line of an item, its needs added up over estimated and laid-out arrays."""
    parts: dict[str, Part] = {}
    for line in part.lines(item):
        for need in line.parts:
            before = parts[need.rule].quantity if need.rule in parts else 0
            parts[need.rule] = msgspec.structs.replace(need, quantity=before + need.quantity)
    line = line_of(item, tuple(parts.values()), job.roll_nm)
    if line.quantity:
        weight = _weight(item, width, line.quantity, rules)
        yield UseLine(line=line, width_nm=width, weight_g=weight)


def _weight(item: Item, width: int | None, length_nm: int, rules: RuleSet) -> float | None:
    if width is None or rules.mesh is None:
        return None
    return weigh_strip(width, length_nm, rules.mesh).weight_g


def _order(use: UseLine, by_width: dict[int, _Part], rules: RuleSet) -> OrderLine:
    line, packs = use.line, use.line.packs
    holds = packs.holds if packs else 1
    count = packs.count if packs else line.quantity
    if packs is not None and use.width_nm is not None:
        count = max(count, _rolls(by_width[use.width_nm], holds))
    return OrderLine(
        item=line.item,
        width_nm=use.width_nm,
        pack=packs.name if packs else "each",
        holds=holds,
        count=count,
        left_over=count * holds - line.quantity,
        weight_g=_weight(line.item, use.width_nm, holds, rules) if packs else None,
    )


def _rolls(part: _Part, roll_nm: int) -> int:
    """Return how many rolls a width takes: those of the cut plan, and those of the estimate.

    Pieces do not fill rolls to the end, so a plan can take more rolls than the length alone; what
    is left of them is not counted on for arrays that were only estimated.
    """
    planned = len(part.plan.rolls) if part.plan is not None else 0
    return planned + whole(part.estimated.get("mesh_length", 0), roll_nm)


def roll_lengths_nm(rules: RuleSet) -> tuple[int, ...]:
    """Return the lengths in which mesh is sold, the usual one first [nm]."""
    packs = [item.pack for item in rules.bill if is_strip(item) and item.pack]
    sold = [size for pack in packs for size in (pack.holds, *pack.also)]
    return tuple(dict.fromkeys(sold)) or (mesh_roll_nm(rules),)
