"""The layout call and its drawing."""

from __future__ import annotations

from service.calc.layout.result import layout_result
from service.calls.computed import Computed, refuse
from service.calls.laying import Laid, lay
from service.calls.layout_forms import LayoutForm
from service.calls.roll_lengths import roll_faults
from service.drawing import draw_planes
from service.errors import BadInputError
from service.rulesets.ruleset import RuleSet


def layout(form: LayoutForm, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    laid = _laid(form, rules)
    strips = laid.strips.strips if laid.strips else ()
    return Computed(
        result=layout_result(laid.planes, strips, laid.counts, laid.plans, rules),
        facts={"measured": True},
    )


def drawing(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises BadInputError as the layout does."""
    laid = _laid(form, rules)
    strips = laid.strips.strips if laid.strips else ()
    return draw_planes(laid.planes, strips, rules, form.units or rules.units)


def _laid(form: LayoutForm, rules: RuleSet) -> Laid:
    faults = roll_faults(form.roll_length, form, rules)
    readings = tuple(map(int, form.clearance.readings))
    roll = None if faults else form.roll_length
    try:
        laid = lay(form, readings, roll, rules, form.units or rules.units)
    except BadInputError as error:
        raise BadInputError([*faults, *error.faults]) from None
    refuse(faults)
    return laid
