"""The calls that compute: each turns a form and a rule set into an answer. None calculates."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import msgspec

from service.calc.estimate import QuickJob, estimate
from service.calc.layout_trace import layout_trace
from service.calc.sizing import size
from service.calc.sizing_trace import sizing_trace
from service.calc.suitability import judge_site
from service.calc.trace import Step
from service.calls.answers.layout import LayoutAnswer
from service.calls.answers.materials import MaterialsAnswer, show_counted_materials, show_materials
from service.calls.answers.quote import QuoteAnswer
from service.calls.answers.sizing import SizingAnswer, show_sizing
from service.calls.answers.suitability import SuitabilityAnswer, show_suitability
from service.calls.forms import Form, SizingForm, SuitabilityForm
from service.calls.layout_forms import ArraysForm, LayoutForm
from service.calls.materials_form import MaterialsForm
from service.calls.quote_forms import QuoteForm
from service.calls.roll_lengths import roll_faults
from service.errors import BadInputError, Fault
from service.pricebooks.pricebook import PriceBook
from service.quantity.show import MARKS_NM
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name


class Computed(msgspec.Struct, frozen=True, kw_only=True):
    """What a call comes to: the result in its wire form, the facts for cautions, and the trace."""

    result: Any
    facts: dict[str, Any]
    trace: tuple[Step, ...]


class Call(msgspec.Struct, frozen=True, kw_only=True):
    """One computing call: where it is, what it takes and gives, and what it does.

    A call that is `priced` takes a price book as well: the one that the form names, or None.
    """

    path: str
    summary: str
    form: type[Form]
    answer: type[msgspec.Struct]
    compute: Callable[..., Computed]
    examples: tuple[str, ...]
    """Names of the example requests in openapi/examples."""
    priced: bool = False


def compute_sizing(form: SizingForm, rules: RuleSet) -> Computed:
    """Return the sizing of a clearance."""
    system = form.units or rules.units
    sizing = size(form.clearance.readings, rules.values, MARKS_NM[system])
    return Computed(
        result=show_sizing(sizing, system),
        facts={"measured": True},
        trace=sizing_trace(sizing, rules.values),
    )


def compute_materials(form: MaterialsForm, rules: RuleSet) -> Computed:
    """Return the bill of materials of a quick estimate."""
    refuse([*roll_faults(form.roll_length, form, rules), *_zone_faults(form, rules)])
    if form.layout is not None:
        return _counted_materials(form, form.layout, rules)
    found = estimate(_quick_job(form, int(form.perimeter or 0)), rules)
    trace = found.bill.trace
    if found.sizing is not None:
        trace = _sized_trace(sizing_trace(found.sizing, rules.values), trace)
    return Computed(
        result=show_materials(found, int(form.perimeter or 0), form.units or rules.units),
        facts={"joining": form.joining, "painted": form.painted},
        trace=trace,
    )


@lru_cache(maxsize=1024)
def _sized_trace(sizing: tuple[Step, ...], bill: tuple[Step, ...]) -> tuple[Step, ...]:
    """Return the trace of a bill whose strip follows from a clearance."""
    strip = ("values.strip_margin", "values.stocked_widths")
    advice = next(step for step in sizing if step.figure == "/advice")
    return (Step("/strip_width", strip), advice, Step("/lines", strip), *bill)


def compute_layout(form: LayoutForm, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    # geometry takes longer to read in than the service to start, so it comes when first asked for
    from service.calls.answers.show_layout import show_layout
    from service.calls.laying import lay

    refuse(roll_faults(form.roll_length, form, rules))
    laid = lay(form, form.roll_length, rules)
    system = form.units or rules.units
    sizing = size(form.clearance.readings, rules.values, MARKS_NM[system])
    return Computed(
        result=show_layout(laid.planes, sizing, laid.counts, laid.plan, system),
        facts={"measured": True},
        trace=layout_trace(),
    )


def draw_layout(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises BadInputError as the layout does."""
    from service.calls.laying import lay
    from service.drawing import draw_planes

    refuse(roll_faults(form.roll_length, form, rules))
    laid = lay(form, form.roll_length, rules)
    system = form.units or rules.units
    sizing = size(form.clearance.readings, rules.values, MARKS_NM[system])
    return draw_planes(laid.planes, sizing, rules, system)


def compute_suitability(form: SuitabilityForm, rules: RuleSet) -> Computed:
    """Return the verdict on a roof."""
    readings = form.clearance.readings if form.clearance else ()
    found = judge_site(form.covering, form.racking, readings, form.site, rules)
    return Computed(
        result=show_suitability(found, form.units or rules.units),
        facts=found.facts,
        trace=found.trace,
    )


def compute_quote(form: QuoteForm, rules: RuleSet, named: PriceBook | None = None) -> Computed:
    """Return the quote of a whole job; `named` is the price book that the form names."""
    from service.calls.answers.show_quote import show_quote
    from service.calls.quote_trace import quote_trace
    from service.calls.quoting import quote

    found = quote(form, rules, named)
    return Computed(
        result=show_quote(found, form, rules),
        facts=found.facts,
        trace=quote_trace(found, rules),
    )


def _counted_materials(form: MaterialsForm, layout: ArraysForm, rules: RuleSet) -> Computed:
    """Return the bill by what a layout counts, with the thumb rules' figures beside it."""
    from service.calls.laying import counted_bill, lay

    laid = lay(layout, form.roll_length, rules)
    facts = {"joining": form.joining, "painted": form.painted}
    thumb = estimate(_quick_job(form, laid.counts.perimeter_nm), rules)
    counted = counted_bill(laid, facts, form.roll_length, rules)
    if thumb.strip_nm is None:
        counted = msgspec.structs.replace(counted, lines=(), trace=())
    system = form.units or rules.units
    return Computed(
        result=show_counted_materials(counted, thumb, laid.counts.perimeter_nm, system),
        facts=facts,
        trace=(*layout_trace()[:1], *counted.trace),
    )


def _quick_job(form: MaterialsForm, perimeter_nm: int) -> QuickJob:
    return QuickJob(
        perimeter_nm=perimeter_nm,
        strip_nm=form.strip_width,
        readings_nm=form.clearance.readings if form.clearance else (),
        joining=form.joining,
        painted=form.painted,
        corners=form.corners,
        penetrations=form.penetrations,
        roll_nm=form.roll_length,
        zones=form.zones,
    )


def refuse(faults: list[Fault]) -> None:
    """Raise BadInputError with the faults, if there are any."""
    if faults:
        raise BadInputError(faults)


def _zone_faults(form: MaterialsForm, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not have."""
    problem = f"{rules.name} has no such zone."
    return [
        Fault(path=("zones", name), problem=problem, remedy=unknown_name(name, list(rules.zones)))
        for name in form.zones
        if name not in rules.zones or name == "standard"
    ]


CALLS: tuple[Call, ...] = (
    Call(
        path="/v1/suitability",
        summary="Whether the barrier can be fitted here in this way, and what it is fixed to",
        form=SuitabilityForm,
        answer=SuitabilityAnswer,
        compute=compute_suitability,
        examples=("suitability-shingle", "suitability-nest"),
    ),
    Call(
        path="/v1/sizing",
        summary="How wide a strip, and bent how",
        form=SizingForm,
        answer=SizingAnswer,
        compute=compute_sizing,
        examples=("sizing", "sizing-metric"),
    ),
    Call(
        path="/v1/materials",
        summary="How much of everything, by thumb rules from a perimeter or counted from a layout",
        form=MaterialsForm,
        answer=MaterialsAnswer,
        compute=compute_materials,
        examples=("materials-rings", "materials-ties", "materials-counted"),
    ),
    Call(
        path="/v1/layout",
        summary="Where each piece goes, what to mark on the tape, and how many of everything",
        form=LayoutForm,
        answer=LayoutAnswer,
        compute=compute_layout,
        examples=("layout-block", "layout-two-planes"),
    ),
    Call(
        path="/v1/quote",
        summary="The whole job: judged, sized, billed to order, reckoned in hours, and priced",
        form=QuoteForm,
        answer=QuoteAnswer,
        compute=compute_quote,
        examples=("quote-perimeter", "quote-sparse", "quote-house"),
        priced=True,
    ),
)

BY_NAME: dict[str, Call] = {call.path.removeprefix("/v1/"): call for call in CALLS}
"""Calls by the end of their path, as examples and what-if name them."""
