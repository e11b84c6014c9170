"""A layout for CAD: each kind of thing on its own layer, at true size in inches or millimeters.

The first plane has the coordinates of the request: x along the eave, y up the slope. Further planes
are moved to the right of it. Needs the `cad` extra.
"""

from __future__ import annotations

from cmath import rect
from collections.abc import Iterable, Sequence
from io import StringIO
from math import radians

import ezdxf
from ezdxf.enums import TextEntityAlignment

from gapwright.calc.layout.lay import LaidPlane, LaidRun
from gapwright.calc.layout.runs import along, path_on, place_on
from gapwright.calc.layout.sides import PlacedSide
from gapwright.calc.outline import Spot
from gapwright.quantity.show import NM_PER_IN, NM_PER_MM, System

LAYERS = {
    "MODULES": 8,
    "OUTLINES": 7,
    "RAILS": 9,
    "BARRIER": 5,
    "OVERLAPS": 1,
    "TABS": 3,
    "RETURNS": 6,
    "CLIPS": 4,
    "PENETRATIONS": 30,
    "LABELS": 7,
}
"""The layers, and the color of each by its index in DXF."""
_BETWEEN_PLANES_NM = 3_000_000_000
_TEXT_NM = 100_000_000
_TAB_NM = 75_000_000
_CUTOUT_NM = 50_000_000
"""The radius with which a cutout is drawn: that of the pipe is not known."""

# the same job gives the same bytes: no time of day and no random id in the file
ezdxf.options.write_fixed_meta_data_for_testing = True


def draw_dxf(planes: Sequence[LaidPlane], system: System) -> str:
    """Return the layout of some planes as the text of a DXF file."""
    drawing, right_nm = _Drawing(system), 0
    for number, laid in enumerate(planes):
        xs = [x for array in laid.outline.arrays for x, _ in array.outer.corners]
        drawing.moved_nm = right_nm + _BETWEEN_PLANES_NM - min(xs) if number else 0
        right_nm = max(xs) + drawing.moved_nm
        drawing.add_plane(laid)
    return drawing.text()


class _Drawing:
    """A DXF document that is drawn into in nanometers; `moved_nm` is added to each x."""

    def __init__(self, system: System) -> None:
        imperial = system == "imperial"
        self._document = ezdxf.new("R2010", units=ezdxf.units.IN if imperial else ezdxf.units.MM)
        self._document.header["$MEASUREMENT"] = 0 if imperial else 1
        self._space = self._document.modelspace()
        self._unit_nm = NM_PER_IN if imperial else NM_PER_MM
        self.moved_nm = 0
        for name, color in LAYERS.items():
            self._document.layers.add(name, color=color)

    def text(self) -> str:
        """Return the document as text."""
        written = StringIO()
        self._document.write(written)
        return written.getvalue()

    def add_plane(self, laid: LaidPlane) -> None:
        """Add everything on a roof plane."""
        for module in laid.plane.modules:
            corner = complex(module.x_nm, module.y_nm)
            right = rect(module.width_nm, radians(module.turn_degrees))
            up = rect(module.height_nm, radians(module.turn_degrees + 90))
            corners = (corner, corner + right, corner + right + up, corner + up)
            self._line("MODULES", ((at.real, at.imag) for at in corners), close=True)
        for loop in laid.outline.loops:
            self._line("OUTLINES", loop.corners, close=True)
        for rail in laid.rails:
            self._line("RAILS", (rail.start, rail.end))
        for placed in laid.sides:
            middle = along(placed, placed.length_nm // 2)
            self._label(placed.name, _outside(placed, middle, -2 * _TEXT_NM))
        for run in laid.runs:
            self._add_run(run)

    def _add_run(self, run: LaidRun) -> None:
        for named in run.pieces:
            path = path_on(run.placed, named.piece.start_nm, named.piece.covered_nm)
            self._line("BARRIER", path)
            middle_nm = named.piece.start_nm + named.piece.covered_nm // 2
            outside = _outside(*place_on(run.placed, middle_nm), 2 * _TEXT_NM)
            self._label(named.name, outside)
        for overlap in run.layout.overlaps:
            self._line("OVERLAPS", path_on(run.placed, overlap.start_nm, overlap.overlap_nm))
        for side, tab in run.placed.tabs_by_side():
            at = along(side, tab.at_nm)
            self._line("TABS", (at, _outside(side, at, _TAB_NM)))
        for made in run.returns:
            self._line("RETURNS", (made.bend, made.foot))
        for at_nm in run.clips_nm:
            side, spot = place_on(run.placed, at_nm)
            self._line("CLIPS", (spot, _outside(side, spot, _TAB_NM)))
        for at_nm in run.placed.penetrations_nm:
            center = self._point(place_on(run.placed, at_nm)[1])
            radius = _CUTOUT_NM / self._unit_nm
            self._space.add_circle(center, radius, dxfattribs={"layer": "PENETRATIONS"})

    def _line(
        self, layer: str, spots: Iterable[tuple[float, float]], *, close: bool = False
    ) -> None:
        points = [self._point(spot) for spot in spots]
        self._space.add_lwpolyline(points, close=close, dxfattribs={"layer": layer})

    def _label(self, name: str, spot: tuple[float, float]) -> None:
        text = self._space.add_text(
            name, height=_TEXT_NM / self._unit_nm, dxfattribs={"layer": "LABELS"}
        )
        text.set_placement(self._point(spot), align=TextEntityAlignment.MIDDLE_CENTER)

    def _point(self, spot: tuple[float, float]) -> tuple[float, float]:
        return (spot[0] + self.moved_nm) / self._unit_nm, spot[1] / self._unit_nm


def _outside(placed: PlacedSide, spot: Spot, away_nm: int) -> tuple[float, float]:
    """Return a point across a side from a spot on it, outside the array unless negative."""
    (x, y), (u, v) = placed.start, placed.end
    share = away_nm / placed.length_nm
    # the array is on the left
    return spot[0] + (v - y) * share, spot[1] - (u - x) * share
