"""The canvas of a plan: its scale, where points of the roof are on the page, what is occupied."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import chain, count

import msgspec

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.sides import PlacedSide
from gapwright.calc.outline import Bounds, Spot
from gapwright.drawing.geometry import Segment
from gapwright.drawing.placement import Occupancy
from gapwright.drawing.svg import PX_PER_IN, Point
from gapwright.quantity.show import NM_PER_IN, System, long
from gapwright.rulesets.ruleset import RuleSet

Size = tuple[float, float]
"""Width and height [px]."""
ONE_PLANE: Size = (1100, 800)
SEVERAL_PLANES: Size = (860, 520)
"""How large the arrays of a plane may be on a screen."""

_IMPERIAL = (12, 16, 24, 32, 48, 64, 96, 120, 240, 360, 480, 600)
_METRIC = (10, 20, 25, 50, 75, 100, 125, 150, 200, 250, 500)
_USUAL_EDGE_PX = 60.0
_MIN_SYMBOL_SIZE = 0.4
_NEARBY_PX = 110


class Scale(msgspec.Struct, frozen=True, kw_only=True):
    """One to `ratio`; a CSS pixel is 1/96 in, so that a print at full size is to scale."""

    ratio: int
    system: System

    @property
    def px_per_nm(self) -> float:
        """Return how many pixels of the page show one nanometer."""
        return PX_PER_IN / NM_PER_IN / self.ratio

    @property
    def text(self) -> str:
        """Return the scale in words."""
        if self.system == "metric":
            return f"Scale 1:{self.ratio}"
        in_per_ft = f"{Fraction(12, self.ratio)} in = 1 ft"
        ruler = in_per_ft if self.ratio < 120 else f"1 in = {self.ratio // 12} ft"
        return f"Scale 1:{self.ratio} ({ruler})"


class Canvas(msgspec.Struct, frozen=True, kw_only=True):
    """What a plan is drawn on: the box around its arrays starts at (0, 0), the ridge is up.

    `symbol_size` is smaller where many sides and pieces share the page.
    """

    laid: LaidPlane
    rules: RuleSet
    box: Bounds
    scale: Scale
    symbol_size: float
    occupancy: Occupancy

    @property
    def width(self) -> float:
        """Return the width of all arrays on the page [px]."""
        return (self.box.right_nm - self.box.left_nm) * self.scale.px_per_nm

    @property
    def height(self) -> float:
        """Return the height of all arrays on the page [px]."""
        return (self.box.upper_nm - self.box.lower_nm) * self.scale.px_per_nm

    def at(self, spot: Spot) -> Point:
        """Return where a point of the roof plane is on the page."""
        px_per_nm = self.scale.px_per_nm
        return (spot[0] - self.box.left_nm) * px_per_nm, (self.box.upper_nm - spot[1]) * px_per_nm

    def line(self, spots: Iterable[Spot]) -> list[Point]:
        """Return where points of the roof plane are on the page."""
        return [self.at(spot) for spot in spots]

    def side(self, placed: PlacedSide) -> Segment:
        """Return where a side is on the page."""
        return self.at(placed.start), self.at(placed.end)

    def nearby(self, spots: Iterable[Spot]) -> list[Point]:
        """Return points of the roof plane on the page, without those far from the arrays."""
        near = _NEARBY_PX
        return [
            (x, y)
            for x, y in self.line(spots)
            if -near <= x <= self.width + near and -near <= y <= self.height + near
        ]

    def length_text(self, nm: int) -> str:
        """Return a length as a tape reads, rounded up."""
        return long(nm, self.scale.system, "up").text


def canvas_for(laid: LaidPlane, rules: RuleSet, system: System, size: Size) -> Canvas:
    """Return the canvas that shows all arrays of a plane at a usual scale."""
    corners = [corner for array in laid.outline.arrays for corner in array.outer.corners]
    xs = [x for x, _ in corners] or [0]
    ys = [y for _, y in corners] or [0]
    box = Bounds(left_nm=min(xs), lower_nm=min(ys), right_nm=max(xs), upper_nm=max(ys))
    scale = choose_scale(box.right_nm - box.left_nm, box.upper_nm - box.lower_nm, system, size)
    return Canvas(
        laid=laid,
        rules=rules,
        box=box,
        scale=scale,
        symbol_size=_symbol_size(laid, scale),
        occupancy=Occupancy(),
    )


def zone_patterns(laid: LaidPlane, rules: RuleSet) -> dict[str, str]:
    """Return the zones on sides with a channel, and what fills each; the standard one is bare."""
    marked = sorted(zone for zone in rules.zones if zone != "standard")
    found = {side.zone for side in laid.sides if not side.open}
    return {zone: f"url(#zone{n % 3})" for n, zone in enumerate(marked) if zone in found}


def choose_scale(width_nm: int, height_nm: int, system: System, size: Size) -> Scale:
    """Return the largest usual scale at which an array fits a size."""
    usual = _IMPERIAL if system == "imperial" else _METRIC
    for ratio in chain(usual, (usual[-1] * 2**n for n in count(1))):
        scale = Scale(ratio=ratio, system=system)
        if width_nm * scale.px_per_nm <= size[0] and height_nm * scale.px_per_nm <= size[1]:
            return scale
    raise AssertionError  # pragma: no cover - there is always a larger ratio


def _symbol_size(laid: LaidPlane, scale: Scale) -> float:
    """Return the size of symbols: by the scale, and by the median side's length on the page."""
    by_scale = 1.0 if scale.ratio <= 64 else 0.8 if scale.ratio <= 160 else 0.6
    lengths = sorted(placed.length_nm for placed in laid.sides)
    median = lengths[len(lengths) // 2] * scale.px_per_nm if lengths else _USUAL_EDGE_PX
    return max(_MIN_SYMBOL_SIZE, min(by_scale, median / _USUAL_EDGE_PX))
