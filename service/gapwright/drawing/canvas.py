"""The canvas of a plan: its scale, where the roof is on the page, and what is occupied there.

On the page the array is on the left of a side's direction. A vector times 1j points to its right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import chain, count, pairwise
from math import ceil
from statistics import median

import msgspec

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.sides import PlacedSide
from gapwright.calc.outline import Bounds, Spot
from gapwright.drawing.svg import PX_PER_IN, PagePoint
from gapwright.quantity.show import NM_PER_IN, System, long
from gapwright.rulesets.ruleset import RuleSet

PageSize = tuple[float, float]
"""Width and height [px]."""
PageBox = tuple[float, float, float, float]
"""Left, top, right and bottom [px]."""
Segment = tuple[PagePoint, PagePoint]

_RATIOS: dict[System, tuple[int, ...]] = {
    "imperial": (12, 16, 24, 32, 48, 64, 96, 120, 240, 360, 480, 600),
    "metric": (10, 20, 25, 50, 75, 100, 125, 150, 200, 250, 500),
}
_USUAL_LENGTH_PX = 70.0
_MIN_SYMBOL_SIZE = 0.4
_NEARBY_PX = 110
_CELL_PX = 40.0


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
            return f"scale 1:{self.ratio}"
        in_per_ft = f"{Fraction(12, self.ratio)} in = 1 ft"
        ruler = in_per_ft if self.ratio < 120 else f"1 in = {self.ratio // 12} ft"
        return f"scale 1:{self.ratio} ({ruler})"


class Occupancy:
    """The boxes that are occupied on the page, by the cells of a grid that they touch.

    Queries are counted, so that a crowded sheet takes bounded work, by no clock: the same job is
    always drawn alike.
    """

    MAX_QUERIES = 20_000

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[PageBox]] = defaultdict(list)
        self.queries = 0
        self.extent: PageBox = (0.0, 0.0, 0.0, 0.0)
        """The box around everything occupied."""

    @property
    def is_exhausted(self) -> bool:
        """Return whether nothing more is to be tried."""
        return self.queries > self.MAX_QUERIES

    def occupy(self, line: Sequence[PagePoint], half: float, *, extend: bool = True) -> None:
        """Add a line, or a single point, with `half` [px] around it."""
        for box in boxes_along(line, half):
            for cell in _cells(box):
                self._cells[cell].append(box)
            if extend:
                (left, top, right, bottom), (a, b, c, d) = self.extent, box
                self.extent = min(left, a), min(top, b), max(right, c), max(bottom, d)

    def is_free(self, line: Sequence[PagePoint], half: float) -> bool:
        """Return whether nothing occupied is within `half` of a line."""
        self.queries += 1
        return not any(
            a < right and left < c and b < bottom and top < d
            for left, top, right, bottom in boxes_along(line, half)
            for cell in _cells((left, top, right, bottom))
            for a, b, c, d in self._cells.get(cell, ())
        )


def _cells(box: PageBox) -> Iterator[tuple[int, int]]:
    left, top, right, bottom = (int(side // _CELL_PX) for side in box)
    return ((x, y) for x in range(left, right + 1) for y in range(top, bottom + 1))


def boxes_along(line: Sequence[PagePoint], half: float) -> Iterator[PageBox]:
    """Yield boxes that cover a line, or a single point, and `half` around it."""
    for start, end in pairwise(line if len(line) > 1 else (*line, *line)):
        along = end - start
        slanted = min(abs(along.real), abs(along.imag)) >= 0.5
        parts = ceil(abs(along) / (2 * half)) if slanted else 1
        step = along / parts
        for n in range(parts):
            a = start + step * (n + 0.5 if slanted else 0)
            b = a if slanted else end
            (left, right), (top, bottom) = sorted((a.real, b.real)), sorted((a.imag, b.imag))
            yield left - half, top - half, right + half, bottom + half


class Canvas(msgspec.Struct, frozen=True, kw_only=True):
    """What a plan is drawn on: the box around its arrays starts at 0, the ridge is up.

    `width` and `height` are those of all arrays [px]. `symbol_size` is smaller where many sides and
    pieces share the page.
    """

    laid: LaidPlane
    rules: RuleSet
    box: Bounds
    scale: Scale
    width: float
    height: float
    symbol_size: float
    occupancy: Occupancy

    def at(self, spot: Spot) -> PagePoint:
        """Return where a point of the roof plane is on the page."""
        right, down = spot[0] - self.box.left_nm, self.box.upper_nm - spot[1]
        return complex(right, down) * self.scale.px_per_nm

    def line(self, spots: Iterable[Spot]) -> list[PagePoint]:
        """Return where points of the roof plane are on the page."""
        return [self.at(spot) for spot in spots]

    def side(self, placed: PlacedSide) -> Segment:
        """Return where a side is on the page."""
        return self.at(placed.start), self.at(placed.end)

    def nearby(self, spots: Iterable[Spot]) -> list[PagePoint]:
        """Return points of the roof plane on the page, without those far from the arrays."""
        near = _NEARBY_PX
        return [
            at
            for at in self.line(spots)
            if -near <= at.real <= self.width + near and -near <= at.imag <= self.height + near
        ]

    def length_text(self, nm: int) -> str:
        """Return a length as a tape reads, rounded up."""
        return long(nm, self.scale.system, "up").text


def canvases(laid: LaidPlane, rules: RuleSet, system: System, size: PageSize) -> Iterator[Canvas]:
    """Yield canvases that show all arrays of a plane in a size, at usual scales, largest first."""
    corners = [corner for array in laid.outline.arrays for corner in array.outer.corners]
    xs = [x for x, _ in corners] or [0]
    ys = [y for _, y in corners] or [0]
    box = Bounds(left_nm=min(xs), lower_nm=min(ys), right_nm=max(xs), upper_nm=max(ys))
    lengths = [placed.length_nm for placed in laid.sides] or [NM_PER_IN]
    typical = min(median(lengths), rules.values.piece_length)
    for scale in scales(max(xs) - min(xs), max(ys) - min(ys), system, size):
        symbol_size = typical * scale.px_per_nm / _USUAL_LENGTH_PX
        yield Canvas(
            laid=laid,
            rules=rules,
            box=box,
            scale=scale,
            width=(max(xs) - min(xs)) * scale.px_per_nm,
            height=(max(ys) - min(ys)) * scale.px_per_nm,
            symbol_size=max(_MIN_SYMBOL_SIZE, min(1.0, symbol_size)),
            occupancy=Occupancy(),
        )


def scales(width_nm: int, height_nm: int, system: System, size: PageSize) -> Iterator[Scale]:
    """Yield the usual scales at which an array fits a size, the largest first, without end."""
    usual = _RATIOS[system]
    for ratio in chain(usual, (usual[-1] * 2**n for n in count(1))):
        scale = Scale(ratio=ratio, system=system)
        if width_nm * scale.px_per_nm <= size[0] and height_nm * scale.px_per_nm <= size[1]:
            yield scale


def unit(segment: Segment) -> PagePoint:
    """Return the unit vector along a segment; times 1j it points away from the array."""
    along = segment[1] - segment[0]
    return along / abs(along)


def segments(line: Sequence[PagePoint]) -> Iterator[Segment]:
    """Yield the straight parts of a line that have any length."""
    return ((start, end) for start, end in pairwise(line) if start != end)
