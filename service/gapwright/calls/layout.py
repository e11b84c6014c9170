"""The layout call and its drawing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import msgspec

from gapwright.calc.layout.result import layout_result
from gapwright.calc.suitability import attached_to, roof_facts
from gapwright.calls.array import (
    ArrayInput,
    ArraysInput,
    FacingInput,
    PlaneInput,
    PointInput,
    RailsInput,
    SideInput,
    array_or_planes,
    arrays_faults,
)
from gapwright.calls.planes import JobLayout, lay
from gapwright.calls.request import BaseRequest, Computed
from gapwright.drawing import draw_planes
from gapwright.errors import Fault
from gapwright.facts import Clearance, Covering, Racking
from gapwright.quantity.kinds import RollLength
from gapwright.rulesets.ruleset import RuleSet


class LayoutRequest(BaseRequest, frozen=True, kw_only=True):
    """Lay out the channel around the arrays of one roof plane, or of several.

    Give exactly one of `array` and `planes`. Each of the `planes` has its own `rails`,
    `penetrations`, `sides` and `facings`.
    """

    roof_covering: Covering = "unknown"
    """Roof covering."""
    racking: Racking = "rail_mounted"
    """Kind of racking, which decides what the channel is attached to."""
    clearance: Clearance
    """Readings of the clearance, for all sides without readings of their own."""
    array: ArrayInput | None = None
    """The drawn array of one roof plane: at least one module, block or outline."""
    rails: RailsInput = RailsInput()
    """Where the rails are. Left out: rails are inferred by the rule set."""
    penetrations: Annotated[tuple[PointInput, ...], msgspec.Meta(max_length=500)] = ()
    """Conduits, pipes and vents at or near the edge of the array, each by its center."""
    module_clamps: Annotated[tuple[PointInput, ...], msgspec.Meta(max_length=2000)] = ()
    """Wire clips and module clamps at the edge, which frame clips stay clear of."""
    sides: Annotated[tuple[SideInput, ...], msgspec.Meta(max_length=2000)] = ()
    """Settings of single sides."""
    facings: Annotated[tuple[FacingInput, ...], msgspec.Meta(max_length=4)] = ()
    """Settings of all sides with one facing."""
    planes: Annotated[tuple[PlaneInput, ...], msgspec.Meta(max_length=50)] = ()
    """Several roof planes, in place of `array` and its details."""
    roll_length: RollLength | None = None
    """A roll length from the rule set. Default: its first."""

    def arrays(self) -> ArraysInput:
        """Return the arrays alone, as a materials request has them in `layout`."""
        names = ArraysInput.__struct_fields__
        return ArraysInput(**{name: getattr(self, name) for name in names})

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return a fault unless exactly one of array and planes is given."""
        return array_or_planes(raw.get("array") is not None, bool(raw.get("planes")))

    def faults(self) -> list[Fault]:
        """Return the faults between members, as `arrays_faults` does."""
        return arrays_faults(self.arrays())


def layout(request: LayoutRequest, rules: RuleSet) -> Computed:
    """Return the layout of one plane or of several."""
    laid = _laid(request, rules)
    return Computed(
        result=layout_result(laid.planes, laid.all_strips, laid.counts, laid.plans, rules),
        facts={"measured": True, **roof_facts(request.roof_covering, request.racking, rules)},
    )


def drawing(request: LayoutRequest, rules: RuleSet) -> str:
    """Return the drawing of a layout as SVG. Raises InvalidRequestError as the layout does."""
    laid = _laid(request, rules)
    return draw_planes(laid.planes, laid.all_strips, rules, request.units or rules.units)


def drawing_dxf(request: LayoutRequest, rules: RuleSet) -> str:
    """Return the drawing of a layout as DXF. Raises InvalidRequestError as the layout does.

    Needs the `cad` extra.
    """
    from gapwright.drawing.dxf import draw_dxf  # an optional dependency

    return draw_dxf(_laid(request, rules).planes, request.units or rules.units)


def _laid(request: LayoutRequest, rules: RuleSet) -> JobLayout:
    system = request.units or rules.units
    attachment = attached_to(request.roof_covering, request.racking, rules)
    return lay(request.arrays(), request.clearance, request.roll_length, system, rules, attachment)
