"""From places on the roof plane to places on the page."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from service.calc.layout.lay import LaidPlane
from service.calc.layout.plane import Spot
from service.calc.outline import Box
from service.drawing.scale import Fields, Scale, scale_for
from service.drawing.svg import Dot
from service.quantity.show import System

_ROOMY_PX = 60.0
_LEAST_SIGN = 0.4
_NEAR_PX = 110


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """Where the arrays of a plane lie on the page: their box starts at (0, 0), the ridge is up."""

    box: Box
    scale: Scale
    sign: float = 1.0
    """How large signs are drawn: smaller where many edges and pieces share the page."""

    @property
    def width_px(self) -> float:
        """Return the width of all arrays on the page."""
        return (self.box.right_nm - self.box.left_nm) * self.scale.px_per_nm

    @property
    def height_px(self) -> float:
        """Return the height of all arrays on the page."""
        return (self.box.upper_nm - self.box.lower_nm) * self.scale.px_per_nm

    def at(self, spot: Spot) -> Dot:
        """Return where a place of the roof plane is on the page."""
        each = self.scale.px_per_nm
        return (spot[0] - self.box.left_nm) * each, (self.box.upper_nm - spot[1]) * each

    def line(self, spots: Iterable[Spot]) -> list[Dot]:
        """Return where places of the roof plane are on the page."""
        return [self.at(spot) for spot in spots]

    def is_near(self, place: Dot) -> bool:
        """Return whether a place is not so far from the arrays that the page would grow for it."""
        x, y = place
        return -_NEAR_PX <= x <= self.width_px + _NEAR_PX and (
            -_NEAR_PX <= y <= self.height_px + _NEAR_PX
        )


def sheet_of(laid: LaidPlane, system: System, fields: Fields) -> Sheet:
    """Return the sheet that shows all arrays of a plane at a usual scale, in one of the fields."""
    points = [c.point for array in laid.outline.arrays for c in array.outer.corners]
    across = [point.x_nm for point in points] or [0]
    up = [point.y_nm for point in points] or [0]
    box = Box(left_nm=min(across), lower_nm=min(up), right_nm=max(across), upper_nm=max(up))
    scale = scale_for(box.right_nm - box.left_nm, box.upper_nm - box.lower_nm, system, fields)
    return Sheet(box=box, scale=scale, sign=_sign(laid, scale))


def _sign(laid: LaidPlane, scale: Scale) -> float:
    """Return the size of signs: by the scale, and by how long the usual edge is on the page."""
    by_scale = 1.0 if scale.ratio <= 64 else 0.8 if scale.ratio <= 160 else 0.6
    lengths = sorted(placed.edge.length_nm for placed in laid.edges)
    usual = lengths[len(lengths) // 2] * scale.px_per_nm if lengths else _ROOMY_PX
    return max(_LEAST_SIGN, min(by_scale, usual / _ROOMY_PX))
