"""The calls that lay channel out: the layout, its drawing, and the bill that counts it."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.estimate import QuickJob, estimate
from service.calc.layout.counts import Counts
from service.calc.layout.strips import Strip
from service.calc.layout.trace import WIDTH, LayoutCites, cites_of, counted_trace, layout_trace
from service.calc.trace import Step
from service.calls.answers.materials import MaterialsAnswer, show_counted_materials
from service.calls.answers.show_layout import show_layout
from service.calls.array_forms import ArraysForm
from service.calls.computed import Computed, refuse
from service.calls.laying import Laid, lay, rolled_bill
from service.calls.layout_forms import LayoutForm
from service.calls.materials_form import MaterialsForm
from service.calls.plane_faults import within
from service.calls.quick import quick_job, strip_steps
from service.calls.roll_lengths import roll_faults
from service.drawing import draw_planes
from service.errors import BadInputError
from service.quantity.show import MARKS_NM
from service.rulesets.ruleset import RuleSet


def layout(form: LayoutForm, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    laid, strips = _laid(form, rules)
    return Computed(
        result=show_layout(laid.planes, strips, laid.counts, laid.plans, form.units or rules.units),
        facts={"measured": True},
        trace=layout_trace(cites_of(laid.planes, strips, rules), strips, rules),
    )


def drawing(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises BadInputError as the layout does."""
    laid, strips = _laid(form, rules)
    return draw_planes(laid.planes, strips, rules, form.units or rules.units)


def counted_materials(form: MaterialsForm, arrays: ArraysForm, rules: RuleSet) -> Computed:
    """Return the bill by what a layout counts, with the thumb rules' figures beside it.

    Where edges take different strips, the thumb rules go by the usual one. A bill that lacks part
    of the job would be taken for the whole: there is none where some edges have no stocked strip.

    Raises BadInputError as the layout does, with paths that lead into the request.
    """
    readings = form.clearance.readings if form.clearance else ()
    system = form.units or rules.units
    wrong = roll_faults(form.roll_length, form, rules)
    try:
        laid = lay(arrays, readings, None if wrong else form.roll_length, rules, system)
    except BadInputError as error:
        wrong += [within(fault, ("layout",)) for fault in error.faults]
        raise BadInputError(wrong) from None
    refuse(wrong)
    strips = laid.strips.strips if laid.strips else ()
    usual = [nm for told in strips[0].told for nm in told.readings_nm] if strips else ()
    facts = {"joining": form.joining, "painted": form.painted}
    thumb = estimate(_quick(form, laid.counts, usual), rules)
    counted = rolled_bill(laid, facts, form.roll_length, rules)
    if any(strip.sizing.strip_nm is None for strip in strips):
        counted = msgspec.structs.replace(counted, lines=(), trace=())
        thumb = msgspec.structs.replace(thumb, strip_nm=None)
        laid = msgspec.structs.replace(laid, plans=())
    cites = cites_of(laid.planes, strips, rules)
    perimeter = laid.counts.perimeter_nm
    shown = show_counted_materials(counted, thumb, perimeter, strips, laid.plans, system)
    return Computed(
        result=shown,
        facts=facts,
        trace=(
            Step("/perimeter", cites.outline),
            *strip_steps(thumb.sizing, rules),
            *_width_steps(shown, cites),
            *counted_trace(counted, thumb.bill, cites, rules),
        ),
    )


def _quick(form: MaterialsForm, counts: Counts, readings_nm: Sequence[int]) -> QuickJob:
    """Return what the thumb rules go by: the perimeter of the layout, and its zones."""
    zones = {name: nm for name, nm in counts.zones_nm.items() if name != "standard"}
    quick = quick_job(form, counts.perimeter_nm, readings_nm)
    return msgspec.structs.replace(quick, zones=zones)


def _width_steps(shown: MaterialsAnswer, cites: LayoutCites) -> tuple[Step, ...]:
    """Return a step for the mesh by width, where it is shown."""
    if shown.strips is msgspec.UNSET:
        return ()
    return (Step("/strips", tuple(dict.fromkeys((*cites.pieces, *WIDTH)))),)


def _laid(form: LayoutForm, rules: RuleSet) -> tuple[Laid, tuple[Strip, ...]]:
    wrong = roll_faults(form.roll_length, form, rules)
    system = form.units or rules.units
    readings, roll = form.clearance.readings, None if wrong else form.roll_length
    try:
        laid = lay(form, readings, roll, rules, system, MARKS_NM[system])
    except BadInputError as error:
        raise BadInputError([*wrong, *error.faults]) from None
    refuse(wrong)
    return laid, laid.strips.strips if laid.strips else ()
