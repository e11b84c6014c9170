"""The layout call and its drawing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

import msgspec

from gapwright.calc.layout.result import layout_result
from gapwright.calls.array import (
    ArrayForm,
    ArraysForm,
    FacingForm,
    PlaceForm,
    PlaneForm,
    RailsForm,
    SideForm,
    array_or,
    array_or_planes,
    arrays_faults,
)
from gapwright.calls.planes import JobLayout, lay
from gapwright.calls.request import Computed, Form
from gapwright.drawing import draw_planes
from gapwright.errors import Fault
from gapwright.facts import Clearance
from gapwright.quantity.kinds import RollLength
from gapwright.rulesets.ruleset import RuleSet


class LayoutForm(Form, frozen=True, kw_only=True):
    """Lay out the channel around the arrays of one roof plane, or of several in `planes`."""

    also: ClassVar[dict[str, Any]] = array_or("planes")

    clearance: Clearance
    array: ArrayForm | None = None
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[PlaceForm, ...], msgspec.Meta(max_length=500)] = ()
    sides: Annotated[tuple[SideForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()
    planes: Annotated[tuple[PlaneForm, ...], msgspec.Meta(max_length=50)] = ()
    roll_length: RollLength | None = None

    def arrays(self) -> ArraysForm:
        """Return the arrays alone, as a materials request has them in `layout`."""
        names = ArraysForm.__struct_fields__
        return ArraysForm(**{name: getattr(self, name) for name in names})

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return a fault unless exactly one of array and planes is given."""
        return array_or_planes(raw.get("array") is not None, bool(raw.get("planes")))

    def faults(self) -> list[Fault]:
        """Return the faults between members, as `arrays_faults` does."""
        return arrays_faults(self.arrays())


def layout(form: LayoutForm, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    laid = _laid(form, rules)
    return Computed(
        result=layout_result(laid.planes, laid.all_strips, laid.counts, laid.plans, rules),
        facts={"measured": True},
    )


def drawing(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises BadInputError as the layout does."""
    laid = _laid(form, rules)
    return draw_planes(laid.planes, laid.all_strips, rules, form.units or rules.units)


def drawing_dxf(form: LayoutForm, rules: RuleSet) -> str:
    """Return the drawing of a layout as DXF. Raises BadInputError as the layout does.

    Needs the `cad` extra.
    """
    from gapwright.drawing.dxf import draw_dxf  # an optional dependency

    return draw_dxf(_laid(form, rules).planes, form.units or rules.units)


def _laid(form: LayoutForm, rules: RuleSet) -> JobLayout:
    system = form.units or rules.units
    return lay(form.arrays(), form.clearance, form.roll_length, system, rules)
