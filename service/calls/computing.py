"""The calls that compute: each turns a form and a rule set into an answer. None calculates."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from service.calc.sizing import size
from service.calc.sizing_trace import sizing_trace
from service.calc.suitability import judge_site
from service.calls.answers.layout import LayoutAnswer
from service.calls.answers.materials import MaterialsAnswer
from service.calls.answers.quote import QuoteAnswer
from service.calls.answers.sizing import SizingAnswer, show_sizing
from service.calls.answers.suitability import SuitabilityAnswer, show_suitability
from service.calls.computed import Computed, refuse
from service.calls.forms import Form, SizingForm, SuitabilityForm
from service.calls.layout_forms import LayoutForm
from service.calls.materials_form import MaterialsForm
from service.calls.quick import QuickMaterials, quick_materials, zone_faults
from service.calls.quote_forms import QuoteForm
from service.calls.roll_lengths import roll_faults
from service.pricebooks.pricebook import PriceBook
from service.quantity.show import MARKS_NM
from service.rulesets.ruleset import RuleSet


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

    A call that is `priced` takes a price book as well: the one that the form names, or None. Such
    a call is always heavy.
    """

    path: str
    summary: str
    form: type[Form]
    answer: type[msgspec.Struct]
    compute: Callable[..., Computed | QuickMaterials]
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


def compute_layout(form: LayoutForm, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    # geometry takes longer to read in than the service to start, so it comes when first asked for
    from service.calls.laid_out import layout

    return layout(form, rules)


def draw_layout(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises BadInputError as the layout does."""
    from service.calls.laid_out import drawing

    return drawing(form, rules)


def compute_materials(form: MaterialsForm, rules: RuleSet) -> Computed | QuickMaterials:
    """Return the bill of materials, by thumb rules or as a layout counts it."""
    if form.layout is None:
        refuse([*roll_faults(form.roll_length, form, rules), *zone_faults(form, rules)])
        return quick_materials(form, rules)
    from service.calls.laid_out import counted_materials

    return counted_materials(form, form.layout, rules)


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
