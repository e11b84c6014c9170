"""The calls that compute: each turns a form and a rule set into an answer. None calculates."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import msgspec

from service.calc.estimate import Estimate, QuickJob, estimate
from service.calc.sizing import size
from service.calc.sizing_trace import sizing_trace
from service.calc.suitability import judge_site
from service.calc.trace import Step
from service.calls.answers.layout import LayoutAnswer
from service.calls.answers.materials import MaterialsAnswer, show_materials
from service.calls.answers.quote import QuoteAnswer
from service.calls.answers.sizing import SizingAnswer, show_sizing
from service.calls.answers.suitability import SuitabilityAnswer, show_suitability
from service.calls.forms import Form, SizingForm, SuitabilityForm
from service.calls.layout_forms import LayoutForm
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


def never(form: Form) -> bool:
    """Say of any request that it is answered in well under a millisecond."""
    del form
    return False


def always(form: Form) -> bool:
    """Say of any request that others should not wait for it."""
    del form
    return True


def lays_out(form: LayoutForm | MaterialsForm) -> bool:
    """Return whether a request is answered by laying channel out."""
    return not isinstance(form, MaterialsForm) or form.layout is not None


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
    heavy: Callable[[Any], bool] = never
    """Whether a request takes so long that other requests should not wait for it."""


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
        from service.calls.laid_out import counted_materials

        return counted_materials(form, form.layout, rules)
    readings = form.clearance.readings if form.clearance else ()
    found = estimate(quick_job(form, int(form.perimeter or 0), readings), rules)
    return Computed(
        result=show_materials(found, int(form.perimeter or 0), form.units or rules.units),
        facts={"joining": form.joining, "painted": form.painted},
        trace=_joined(strip_steps(found, rules), found.bill.trace),
    )


@lru_cache(maxsize=1024)
def _strip_steps(sizing: tuple[Step, ...]) -> tuple[Step, ...]:
    strip = ("values.strip_margin", "values.stocked_widths")
    advice = next(step for step in sizing if step.figure == "/advice")
    return (Step("/strip_width", strip), advice, Step("/lines", strip))


def strip_steps(found: Estimate, rules: RuleSet) -> tuple[Step, ...]:
    """Return what follows from the sizing of the strip, unless the strip was told."""
    return _strip_steps(sizing_trace(found.sizing, rules.values)) if found.sizing else ()


@lru_cache(maxsize=1024)
def _joined(first: tuple[Step, ...], then: tuple[Step, ...]) -> tuple[Step, ...]:
    """Return two traces as one, the same object each time: a trace is known again by that."""
    return (*first, *then)


def compute_layout(form: LayoutForm, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    # geometry takes longer to read in than the service to start, so it comes when first asked for
    from service.calls.laid_out import layout

    return layout(form, rules)


def draw_layout(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises BadInputError as the layout does."""
    from service.calls.laid_out import drawing

    return drawing(form, rules)


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


def quick_job(form: MaterialsForm, perimeter_nm: int, readings_nm: Sequence[int]) -> QuickJob:
    """Return what the thumb rules go by."""
    return QuickJob(
        perimeter_nm=perimeter_nm,
        strip_nm=form.strip_width,
        readings_nm=readings_nm,
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
        heavy=lays_out,
    ),
    Call(
        path="/v1/layout",
        summary="Where each piece goes, what to mark on the tape, and how many of everything",
        form=LayoutForm,
        answer=LayoutAnswer,
        compute=compute_layout,
        examples=("layout-block", "layout-two-planes", "layout-by-edge"),
        heavy=lays_out,
    ),
    Call(
        path="/v1/quote",
        summary="The whole job: judged, sized, billed to order, reckoned in hours, and priced",
        form=QuoteForm,
        answer=QuoteAnswer,
        compute=compute_quote,
        examples=("quote-perimeter", "quote-sparse", "quote-house"),
        priced=True,
        heavy=always,
    ),
)

BY_NAME: dict[str, Call] = {call.path.removeprefix("/v1/"): call for call in CALLS}
"""Calls by the end of their path, as examples and what-if name them."""
