"""From places on the roof plane to places on the page."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from service.calc.layout.lay import LaidPlane
from service.calc.layout.plane import Spot
from service.calc.outline import Box
from service.drawing.scale import Scale, scale_for
from service.drawing.svg import Dot
from service.quantity.show import System


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """Where the arrays of a plane lie on the page: their box starts at (0, 0), the ridge is up."""

    box: Box
    scale: Scale

    @property
    def width_px(self) -> float:
        """Return the width of all arrays on the page."""
        return (self.box.right_nm - self.box.left_nm) * self.scale.px_per_nm

    @property
    def height_px(self) -> float:
        """Return the height of all arrays on the page."""
        return (self.box.upper_nm - self.box.lower_nm) * self.scale.px_per_nm

    @property
    def sign(self) -> float:
        """Return how large signs are drawn: smaller where many pieces share the page."""
        return 1.0 if self.scale.ratio <= 64 else 0.8 if self.scale.ratio <= 160 else 0.6

    def at(self, spot: Spot) -> Dot:
        """Return where a place of the roof plane is on the page."""
        each = self.scale.px_per_nm
        return (spot[0] - self.box.left_nm) * each, (self.box.upper_nm - spot[1]) * each

    def line(self, spots: Iterable[Spot]) -> list[Dot]:
        """Return where places of the roof plane are on the page."""
        return [self.at(spot) for spot in spots]


def sheet_of(laid: LaidPlane, system: System, *, alone: bool) -> Sheet:
    """Return the sheet that shows all arrays of a plane at a usual scale."""
    points = [c.point for array in laid.outline.arrays for c in array.outer.corners]
    across = [point.x_nm for point in points] or [0]
    up = [point.y_nm for point in points] or [0]
    box = Box(left_nm=min(across), lower_nm=min(up), right_nm=max(across), upper_nm=max(up))
    scale = scale_for(box.right_nm - box.left_nm, box.upper_nm - box.lower_nm, system, alone=alone)
    return Sheet(box=box, scale=scale)
