"""Show a quote in the caller's units."""

from __future__ import annotations

import msgspec

from service.calc.labour import Labour
from service.calc.layout.counts import WidthPlan, counts_of
from service.calc.quote import Area, Job, Reckoned, Strip
from service.calc.quote.strips import drawn_strips, width_of
from service.calls.answers.layout import LayoutAnswer
from service.calls.answers.materials import show_tools
from service.calls.answers.quote import (
    EstimateAnswer,
    EstimatedArray,
    LabourAnswer,
    QuoteAnswer,
    ScheduleAnswer,
    StripSizing,
    SurchargeAnswer,
    TaskAnswer,
)
from service.calls.answers.show_bill import show_bill
from service.calls.answers.show_choices import show_alternative, show_ranged
from service.calls.answers.show_price import show_price
from service.calls.answers.show_strips import show_told
from service.calls.answers.sizing import show_sizing
from service.calls.answers.suitability import show_suitability
from service.calls.firmness import open_matters
from service.calls.quote_forms import QuoteForm
from service.calls.quoting import Quoted
from service.quantity.show import Length, System, decimal, duration, long, short
from service.rulesets.ruleset import RuleSet


def show_quote(found: Quoted, form: QuoteForm, rules: RuleSet) -> QuoteAnswer:
    """Return a quote in the caller's units."""
    system = form.units or rules.units
    job, reckoned = found.job, found.reckoned
    if job is None or reckoned is None:
        return _unsuitable(found, form, system)
    price = reckoned.price
    others = tuple(show_alternative(one, reckoned, system) for one in found.alternatives)
    return QuoteAnswer(
        job=form.job,
        suitability=show_suitability(found.suitability, system),
        sizing=tuple(_strip(strip, system) for strip in reckoned.strips),
        estimate=_estimate(job, reckoned, system) if job.areas else None,
        layout=_layout(job, reckoned, rules, system) if job.laid else None,
        bill=show_bill(reckoned.bill, system),
        labour=_labour(reckoned.labour) if reckoned.labour else None,
        schedule=_schedule(job, reckoned.labour) if reckoned.labour else None,
        price=show_price(price, open_matters(found), system) if price else None,
        no_price=None if price else _why_no_price(reckoned),
        tools=show_tools(reckoned.bill.tools),
        assumptions=tuple(show_ranged(one, reckoned, system) for one in found.ranged),
        alternatives=others if form.alternatives else msgspec.UNSET,
    )


def _unsuitable(found: Quoted, form: QuoteForm, system: System) -> QuoteAnswer:
    return QuoteAnswer(
        job=form.job,
        suitability=show_suitability(found.suitability, system),
        sizing=(),
        estimate=None,
        layout=None,
        bill=None,
        labour=None,
        schedule=None,
        price=None,
        no_price="The job is unsuitable; each reason says what would change that.",
        tools=None,
        assumptions=(),
    )


def _why_no_price(reckoned: Reckoned) -> str:
    if any(strip.width_nm is None for strip in reckoned.strips):
        return "No stocked strip is wide enough for some array; its advice says what to do."
    if not all(strip.fitted for strip in reckoned.strips):
        return "No channel can be bent for some array; its advice says what to do."
    return "No price book was given."


def _strip(strip: Strip, system: System) -> StripSizing:
    shown = show_sizing(strip.sizing, system)
    return StripSizing(
        arrays=strip.names,
        clearance=shown.clearance,
        strip=shown.strip,
        profile=shown.profile,
        advice=shown.advice,
        layout_strip=strip.drawn.name if strip.drawn else None,
        told=show_told(strip.drawn.told, system) if strip.drawn else (),
    )


def _width(area: Area, reckoned: Reckoned, system: System) -> Length | None:
    width = width_of(area, reckoned.strips)
    return short(width, system, "down") if width is not None else None


def _estimate(job: Job, reckoned: Reckoned, system: System) -> EstimateAnswer:
    return EstimateAnswer(
        perimeter=long(sum(area.perimeter_nm for area in job.areas), system, "up"),
        arrays=tuple(
            EstimatedArray(
                name=area.name,
                perimeter=long(area.perimeter_nm, system, "up"),
                corners=area.corners,
                penetrations=area.penetrations,
                strip_width=_width(area, reckoned, system),
            )
            for area in job.areas
        ),
    )


def _layout(job: Job, reckoned: Reckoned, rules: RuleSet, system: System) -> LayoutAnswer:
    """Return the layout of all drawn planes; its strip is null where they take several."""
    # geometry takes longer to read in than the service to start, so it comes when first asked for
    from service.calls.answers.show_layout import show_layout

    planes = [area.plane for area in job.laid]
    shown = drawn_strips(job, reckoned.strips)
    plans = [WidthPlan(strip_nm=part.width_nm, plan=part.plan) for part in reckoned.bill.plans]
    return show_layout(planes, shown, counts_of(planes, plans, rules), plans, system)


def _labour(labour: Labour) -> LabourAnswer:
    return LabourAnswer(
        tasks=tuple(
            TaskAnswer(
                task=line.task.id,
                means=line.task.means,
                time=duration(line.minutes),
                rule=line.task.rule,
            )
            for line in labour.lines
        ),
        surcharges=tuple(
            SurchargeAnswer(
                surcharge=added.surcharge.id,
                means=added.surcharge.means,
                share=decimal(float(added.surcharge.share * 100)),
                time=duration(added.minutes),
                rule=added.surcharge.rule,
            )
            for added in labour.surcharges
        ),
        person_hours=duration(labour.person_minutes),
        crew_hours=duration(labour.crew_minutes),
        crew=labour.crew,
        days=decimal(float(labour.days)),
        untold=labour.untold,
    )


def _schedule(job: Job, labour: Labour) -> ScheduleAnswer:
    return ScheduleAnswer(
        crew=labour.crew,
        days=decimal(float(labour.days)),
        hours_on_site=duration(labour.crew_minutes),
        working_day=duration(job.working_day),
    )
