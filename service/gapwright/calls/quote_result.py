"""The result of a quote: every part of the job, its assumptions and alternatives."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import partial
from typing import Literal, TypeVar

import msgspec

from gapwright.calc.bill import Tools
from gapwright.calc.labor import Labor, LaborResult
from gapwright.calc.layout.counts import WidthPlan, counts_of
from gapwright.calc.layout.result import (
    CutPlanResult,
    LayoutResult,
    ReadingsResult,
    cut_plan_result,
    layout_result,
    readings_result,
)
from gapwright.calc.quote.compute import JobFigures
from gapwright.calc.quote.job import Area, Job, JobStrip, drawn_strips, width_of
from gapwright.calc.quote.order import OrderLine, UseLine
from gapwright.calc.quote.price import PriceResult
from gapwright.calc.sizing import SizingResult
from gapwright.calc.suitability import SuitabilityResult
from gapwright.calls.quote import Alternative, AssumptionRange, Quote, open_items, quote
from gapwright.calls.quote_request import JobInput, QuoteRequest
from gapwright.calls.quote_summary import QuoteSummary, assumed_line, material_lines
from gapwright.calls.request import Computed
from gapwright.errors import pointer
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.quantity.output import (
    Duration,
    Money,
    RunDown,
    RunUp,
    SectionDown,
    Text,
    Weight,
)
from gapwright.quantity.show import decimal
from gapwright.rulesets.figures import Figure, depend_on, present
from gapwright.rulesets.ruleset import Assumption, RuleSet

L = TypeVar("L", UseLine, OrderLine)


class StripSizing(SizingResult, frozen=True, kw_only=True, gc=False):
    """A strip and its profile, with the names of the arrays and drawn planes that take it.

    Arrays that are not drawn share a strip if they have the same readings. For drawn planes,
    `layout_strip` is the name of the strip in `layout`, and `readings` has the readings that it was
    sized for. They are null and empty if no drawn plane takes the strip.
    """

    arrays: tuple[str, ...]
    """The names of the arrays and drawn planes that take the strip."""
    layout_strip: str | None
    """The name of the strip in `layout`; null if no drawn plane takes it."""
    readings: tuple[ReadingsResult, ...]
    """The readings of drawn planes that it was sized for."""


class EstimatedArray(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One array in a quick estimate. `corners` is null if the default count is used."""

    name: str
    """The name of the array."""
    perimeter: RunUp
    """Length around the array."""
    corners: int | None
    """Number of corners that was given; null for the default count."""
    penetrations: int
    """Number of penetrations."""
    strip_width: SectionDown | None
    """The strip of the array; null if no stock width is wide enough."""


class EstimateResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Quick estimate of the arrays that are not drawn."""

    perimeter: RunUp
    """Length around all these arrays."""
    arrays: tuple[EstimatedArray, ...]
    """Each of the arrays."""


class WidthPlanResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How the pieces of one strip width are cut from its rolls, over the whole job."""

    strip_width: SectionDown
    """The strip width."""
    cut_plan: CutPlanResult
    """The cut plan."""


class BillResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Items used, items to order, and cut plans. `mesh_weight` is the weight of the mesh used."""

    lines: tuple[UseLine, ...]
    """What the job uses, spares included."""
    order: tuple[OrderLine, ...]
    """What to order, in whole packs."""
    cut_plans: tuple[WidthPlanResult, ...]
    """The cut plan of each strip width."""
    mesh_weight: Weight | None
    """The weight of all mesh used; null if the rule set has no mesh weight."""


class ScheduleResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Time of the crew on site. Days are rounded up to the next half day."""

    crew: int
    """Number of people."""
    days: float
    """Working days on site, in half days."""
    hours_on_site: Duration
    """Time of the whole crew on site."""
    working_day: Duration
    """Time on site in a day."""


class TotalRange(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Lowest and highest total over the likely range."""

    low: Money
    """The lowest total, in the currency of the price."""
    high: Money
    """The highest total."""


class QuoteAssumption(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """An assumed value, its likely range, and the range of the total.

    `total` is null if the job is unsuitable, or cannot be priced, somewhere in the range.
    `pointers` are JSON Pointers to the request members that would replace it.
    """

    name: str
    """The name of the assumption in the rule set."""
    description: str
    """What is assumed."""
    assumed: Text
    """The assumed value, as text."""
    low: Text
    """The lowest likely value, as text."""
    high: Text
    """The highest likely value, as text."""
    total: TotalRange | None
    """The totals over the likely range, or null."""
    pointers: tuple[str, ...]
    """JSON Pointers to the request members that would replace it."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""


class AlternativeResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The job with one choice changed. The verdict stays the same.

    `total_change` is null if either price is missing.
    """

    change: Literal["joining", "finish", "bending", "strip_width", "roll_length"]
    """The choice that is changed."""
    to: Text
    """Its new value, as text."""
    text: Text
    """The change as a sentence."""
    total: Money | None
    """The total with the change, in the currency of the price; null if it cannot be priced."""
    total_change: Money | None
    """The new total less the total as requested; null if either is missing."""
    person_hours: Duration | None
    """The work with the change; null if no channel can be bent."""
    hours_change: float | None
    """The new work less that as requested, in hours; null if either is missing."""


class QuoteResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The whole job. An unsuitable job has only a verdict with its reasons.

    `layout` has the drawn planes, `estimate` the arrays that are not drawn. `price_unavailable`
    says why there is no price. `alternatives` is present on request.
    """

    job: JobInput
    """The heading, as requested."""
    summary: QuoteSummary
    """The lines that a proposal prints."""
    suitability: SuitabilityResult
    """Whether a barrier can be installed, and how it is attached."""
    sizing: tuple[StripSizing, ...]
    """The strips of the job, and which arrays take each."""
    estimate: EstimateResult | None
    """Quick estimate of the arrays that are not drawn; null if there are none."""
    layout: LayoutResult | None
    """Layout of the drawn planes; null if there are none."""
    bill: BillResult | None
    """Materials to use and to order; null if the job is unsuitable."""
    labor: LaborResult | None
    """The work; null if the job is unsuitable or no channel can be bent."""
    schedule: ScheduleResult | None
    """Time on site; null if there is no labor."""
    price: PriceResult | None
    """The price; null if `price_unavailable` says why."""
    price_unavailable: str | None
    """Why there is no price, as a sentence; null if there is one."""
    tools: Tools | None
    """Tools for the job; null if it is unsuitable."""
    assumptions: tuple[QuoteAssumption, ...]
    """What was assumed for members that were left out."""
    alternatives: tuple[AlternativeResult, ...] | msgspec.UnsetType = msgspec.UNSET
    """Other choices and what they change. Present only on request."""


def compute_quote(
    request: QuoteRequest, rules: RuleSet, named: PriceBook | None = None
) -> Computed:
    """Return the quote of a whole job; `named` is the price book that the request names."""
    found = quote(request, rules, named)
    return Computed(result=quote_result(found, request, rules), facts=found.facts)


def quote_result(found: Quote, request: QuoteRequest, rules: RuleSet) -> QuoteResult:
    """Return the result of a quote for an answer."""
    with rules.under("/suitability"):
        suitability = found.suitability.result(rules)
    rules.show("", found.suitability.reasons)  # an unsuitable job has a verdict only
    job, figures = found.job, found.figures
    if job is None or figures is None:
        return _unsuitable(suitability, request)
    strips = rules.show("/sizing", figures.strips)
    labor = _labor(figures, rules)
    for part in ("/bill", "/price/lines"):
        rules.show(part, figures.bill.rows)  # which lines there are
    for part in ("/price", "/price_unavailable"):
        rules.show(part, found.suitability.reasons)  # some reasons allow no price
    for part in ("/schedule", "/price_unavailable"):
        rules.show(part, figures.fitted)
    return QuoteResult(
        job=request.job,
        summary=_summary(found, figures),
        suitability=suitability,
        sizing=tuple(_strip(strip, at, rules) for at, strip in enumerate(strips)),
        estimate=_estimate(job, figures, rules) if job.areas else None,
        layout=_layout(job, figures, rules) if job.laid else None,
        bill=_bill(figures, rules),
        labor=labor,
        schedule=_schedule(job, figures.labor, rules) if figures.labor else None,
        price=_price(found, figures, rules),
        price_unavailable=None if figures.price else _why_price_unavailable(found, figures),
        tools=rules.show("/tools", figures.bill.tools),
        assumptions=rules.show_each(
            "/assumptions", (_assumption(one, figures, rules) for one in found.ranged)
        ),
        alternatives=(
            rules.show_each(
                "/alternatives", (_alternative(one, figures, rules) for one in found.alternatives)
            )
            if request.alternatives
            else msgspec.UNSET
        ),
    )


def _unsuitable(suitability: SuitabilityResult, request: QuoteRequest) -> QuoteResult:
    return QuoteResult(
        job=request.job,
        summary=QuoteSummary(
            verdict=suitability.verdict,
            total=None,
            currency=None,
            firm=False,
            crew=None,
            days=None,
            materials=(),
            assumptions=(),
        ),
        suitability=suitability,
        sizing=(),
        estimate=None,
        layout=None,
        bill=None,
        labor=None,
        schedule=None,
        price=None,
        price_unavailable="The job is unsuitable. Each reason says what would change that.",
        tools=None,
        assumptions=(),
    )


def _summary(found: Quote, figures: JobFigures) -> QuoteSummary:
    """Return the summary. It repeats figures, whose rules are cited there."""
    labor, price = figures.labor, figures.price
    return QuoteSummary(
        verdict=found.suitability.verdict,
        total=price.total.value if price else None,
        currency=price.book.currency if price else None,
        firm=price is not None and not open_items(found),
        crew=labor.crew.value if labor else None,
        days=labor.days.value if labor else None,
        materials=material_lines(figures.bill.rows.value),
        assumptions=tuple(_assumed(one.assumption) for one in found.ranged),
    )


def _assumed(one: Assumption) -> Text:
    values = (_assumed_text(one.kind, value) for value in (one.value, one.least, one.most))
    return assumed_line(one.description, *values)


def _why_price_unavailable(found: Quote, figures: JobFigures) -> str:
    if found.suitability.price_withheld:
        return "No price may be given yet. Each reason of the verdict says what would change that."
    if any(strip.width_nm is None for strip in figures.strips.value):
        return "No stock strip is wide enough for at least one array; see its advice."
    if not figures.fitted.value:
        return "No channel can be bent for at least one array; see its advice."
    return "No price book was given."


def _strip(strip: JobStrip, at: int, rules: RuleSet) -> StripSizing:
    with rules.under(f"/sizing/{at}"):
        sized = strip.sizing.result(rules)
    return StripSizing(
        **msgspec.structs.asdict(sized),
        arrays=strip.names,
        layout_strip=strip.drawn.name if strip.drawn else None,
        readings=readings_result(strip.drawn.readings) if strip.drawn else (),
    )


def _estimate(job: Job, figures: JobFigures, rules: RuleSet) -> EstimateResult:
    def array(area: Area) -> EstimatedArray:
        width = width_of(area, figures.strips.value).value
        return EstimatedArray(
            name=area.name,
            perimeter=RunUp(area.perimeter_nm.value),
            corners=area.corners.value if area.corners else None,
            penetrations=area.penetrations,
            strip_width=None if width is None else SectionDown(width),
        )

    return EstimateResult(
        perimeter=RunUp(rules.show("/estimate/perimeter", figures.bill.estimated_perimeter)),
        arrays=rules.show_each(
            "/estimate/arrays", (rules.figure(partial(array, area)) for area in job.areas)
        ),
    )


def _layout(job: Job, figures: JobFigures, rules: RuleSet) -> LayoutResult:
    """Return the layout of all drawn planes; its strip is null where they take several."""
    strips = drawn_strips(job, figures.strips.value)
    with rules.under("/layout"):
        return layout_result(
            job.laid, strips, counts_of(job.laid, rules), figures.bill.plans, rules
        )


def _bill(figures: JobFigures, rules: RuleSet) -> BillResult:
    rows = figures.bill.rows.value

    def mesh_weight() -> Weight | None:
        known = [weight.amount for weight in present(row.use_weight for row in rows)]
        return Weight(sum(known)) if known else None

    return BillResult(
        lines=_weighed("/bill/lines", [(row.use, row.use_weight) for row in rows], rules),
        order=_weighed("/bill/order", [(row.order, row.pack_weight) for row in rows], rules),
        cut_plans=tuple(map(_width_plan, rules.show("/bill/cut_plans", figures.bill.plans))),
        mesh_weight=rules.show("/bill/mesh_weight", rules.figure(mesh_weight)),
    )


def _weighed(
    pointer: str, lines: Sequence[tuple[Figure[L | None], Figure[Weight | None]]], rules: RuleSet
) -> tuple[L, ...]:
    """Return lines for an answer, each with its weight."""
    shown = rules.show_each(pointer, (line for line, _ in lines))
    weights = (weight for line, weight in lines if line.value)
    return tuple(
        msgspec.structs.replace(line, weight=rules.show(f"{pointer}/{at}/weight", weight))
        for at, (line, weight) in enumerate(zip(shown, weights, strict=True))
    )


def _width_plan(plan: WidthPlan) -> WidthPlanResult:
    assert plan.strip_nm is not None
    return WidthPlanResult(strip_width=SectionDown(plan.strip_nm), cut_plan=cut_plan_result([plan]))


def _labor(figures: JobFigures, rules: RuleSet) -> LaborResult | None:
    rules.show("/labor", figures.fitted)
    if figures.labor is None:
        return None
    with rules.under("/labor"):
        return figures.labor.result(rules)


def _schedule(job: Job, labor: Labor, rules: RuleSet) -> ScheduleResult:
    return ScheduleResult(
        crew=rules.show("/schedule/crew", labor.crew),
        days=rules.show("/schedule/days", labor.days),
        hours_on_site=Duration(rules.show("/schedule/hours_on_site", labor.crew_minutes)),
        working_day=Duration(rules.show("/schedule/working_day", job.working_day)),
    )


def _price(found: Quote, figures: JobFigures, rules: RuleSet) -> PriceResult | None:
    rules.show("/price", figures.fitted)
    if figures.price is None:
        return None
    still_open = rules.figure(lambda: open_items(found))
    rules.show("/price/firm", still_open)
    with rules.under("/price"):
        return figures.price.result(rules.show("/open_items", still_open), rules)


def _assumption(
    ranged: AssumptionRange, assumed: JobFigures, rules: RuleSet
) -> Figure[QuoteAssumption]:
    """Return an assumption with its likely range, and the range of the total.

    The total under the assumed value can lie outside the totals at both ends, so it is included.
    There is no range if the job cannot be priced somewhere in it.
    """

    def compute() -> QuoteAssumption:
        assumption = ranged.assumption
        return QuoteAssumption(
            name=assumption.name,
            description=assumption.description,
            assumed=_assumed_text(assumption.kind, assumption.value),
            low=_assumed_text(assumption.kind, assumption.least),
            high=_assumed_text(assumption.kind, assumption.most),
            total=_range(ranged, assumed),
            pointers=tuple(pointer(path) for path in ranged.places),
            rule=assumption.rule,
        )

    return rules.figure(compute)


def _assumed_text(kind: str, value: int | Fraction) -> Text:
    if kind == "length":
        return Text("{}", SectionDown(int(value)))
    if kind == "time":
        return Text("{}", Duration(Fraction(value)))
    return Text(str(int(value)))


def _range(ranged: AssumptionRange, assumed: JobFigures) -> TotalRange | None:
    totals = [_total(one) if one else None for one in (assumed, *ranged.others.value)]
    known = sorted((one for one in totals if one), key=lambda total: total.amount)
    if len(known) < len(totals):
        return None
    return TotalRange(low=known[0], high=known[-1])


def _total(figures: JobFigures) -> Money | None:
    depend_on(figures.fitted)  # there is no price without a channel
    return figures.price.total.value if figures.price else None


def _alternative(
    found: Figure[Alternative | None], asked: JobFigures, rules: RuleSet
) -> Figure[AlternativeResult | None]:
    """Return an alternative with its differences from the job as requested."""

    def compute() -> AlternativeResult | None:
        other = found.value
        if other is None:
            return None
        change, to, text = _words(other)
        before, after = _total(asked), _total(other.figures)
        now, then = (
            one.labor.person_minutes.value if one.labor else None for one in (asked, other.figures)
        )
        hours = (then - now) / 60 if then is not None and now is not None else None
        return AlternativeResult(
            change=change,
            to=to,
            text=text,
            total=after,
            total_change=Money(after.amount - before.amount) if after and before else None,
            person_hours=None if then is None else Duration(then),
            hours_change=None if hours is None else decimal(float(hours)),
        )

    return rules.figure(compute)


Change = Literal["joining", "finish", "bending", "strip_width", "roll_length"]
_TEXTS = {
    "ties": "Join the overlaps with cable ties. No ring tool is needed.",
    "rings": "Join the overlaps with rings.",
    "prepainted": "Buy prepainted parts.",
    "spray": "Touch up with black spray paint.",
    "hand": "Bend by hand.",
    "brake": "Bend with a bending brake.",
}


def _words(other: Alternative) -> tuple[Change, Text, Text]:
    """Return the changed choice, its new value, and a sentence."""
    choices = other.choices
    if other.changed == "wider":
        widths = [strip.width_nm for strip in other.figures.strips.value]
        to = [SectionDown(width) for width in dict.fromkeys(widths) if width is not None]
        listed = ", ".join("{}" for _ in to)
        return "strip_width", Text(listed, *to), Text(f"Use the next strip width, {listed}.", *to)
    if other.changed == "roll_nm":
        length = RunDown(choices.roll_nm or 0)
        return "roll_length", Text("{}", length), Text("Buy the mesh in rolls of {}.", length)
    value = getattr(choices, other.changed)
    return other.changed, Text(value), Text(_TEXTS[value])
