"""Which shapes overlap: exact for upright boxes, whole nanometres for turned ones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import dist
from typing import NamedTuple

import shapely

from service.calc.outline.check import Shape
from service.calc.outline.edges import Rect
from service.calc.outline.rings import Path, Place, polygon_of
from service.calc.outline.shape import Box, Note
from service.errors import Fault

ROUNDING_NM = 3
MOST_FAULTS = 100
_AT_ONCE = 20
_NM_PER_MM = 1_000_000
_STOPPED = Fault(
    path=(),
    problem=f"The first {MOST_FAULTS} overlaps are listed; the rest was not looked at.",
    remedy="Check for modules given twice.",
)


class OverlapFault(Fault, frozen=True, kw_only=True):
    """Two shapes over one another: the other one, and how wide and high what both cover is [nm].

    Where that is slanted, `across_nm` is its longer side and `up_nm` its shorter one.
    """

    other: Path
    across_nm: int
    up_nm: int


class Overlap(NamedTuple):
    """Two shapes over one another: the later one, the earlier one, how deep, where, how large."""

    later: Shape
    earlier: Shape
    deep_nm: int
    place: Rect
    size: tuple[int, int]

    def is_rounding(self, level_nm: int) -> bool:
        """Return whether it may come from corners that were rounded.

        Those of turned shapes are rounded to whole nanometres here; those of turned modules come
        rounded already, and out of line by up to `level_nm`.
        """
        if self.later.square and self.earlier.square:
            return False
        drawn = self.later.drawn or self.earlier.drawn
        return self.deep_nm <= (ROUNDING_NM if drawn else max(ROUNDING_NM, level_nm))


def overlap_findings(
    shapes: Sequence[Shape], origin: Place, level_nm: int = 0
) -> tuple[list[Fault], list[Note]]:
    """Return a fault for every overlap, up to MOST_FAULTS, and at most one note.

    Touching is no overlap. What cannot be told from touching beside a turned shape, whose corners
    are rounded, is none either: the deepest of those is the note.
    """
    faults: list[Fault] = []
    rounding: list[Overlap] = []
    for overlap in _overlaps(shapes, origin):
        if overlap.is_rounding(level_nm):
            rounding = [max([*rounding, overlap], key=lambda found: found.deep_nm)]
        else:
            faults.append(_fault(overlap))
        if len(faults) == MOST_FAULTS:
            faults.append(_STOPPED)
            break
    return faults, [_note(overlap) for overlap in rounding]


def _overlaps(shapes: Sequence[Shape], origin: Place) -> Iterator[Overlap]:
    polygons = [solid(shape, origin) for shape in shapes]
    tree = shapely.STRtree(polygons)
    for start in range(0, len(shapes), _AT_ONCE):
        pairs = tree.query(polygons[start : start + _AT_ONCE]).T.tolist()
        for later, earlier in sorted((start + first, second) for first, second in pairs):
            if earlier < later:
                overlap = _overlap(shapes[later], shapes[earlier], origin)
                if overlap:
                    yield overlap


def _overlap(later: Shape, earlier: Shape, origin: Place) -> Overlap | None:
    if later.rect and earlier.rect:
        place = _common(later.rect, earlier.rect)
        size = place[2] - place[0], place[3] - place[1]
        return Overlap(later, earlier, min(size), place, size) if min(size) > 0 else None
    one, other = solid(later, origin), solid(earlier, origin)
    if not one.relate_pattern(other, "T********"):
        return None
    common = shapely.intersection(one, other)
    left, lower, right, upper = (round(each) for each in common.bounds)
    x, y = origin
    deep_nm = max(1, round(2 * common.area / common.length))
    place = (left + x, lower + y, right + x, upper + y)
    upright = later.square and earlier.square
    size = (right - left, upper - lower) if upright else _sides(common)
    return Overlap(later, earlier, deep_nm, place, size)


def _common(one: Rect, other: Rect) -> Rect:
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def _fault(overlap: Overlap) -> OverlapFault:
    across_nm, up_nm = overlap.size
    across, up = (f"{nm / _NM_PER_MM:.6f}".rstrip("0").rstrip(".") for nm in (across_nm, up_nm))
    other = "/".join(str(step) for step in overlap.earlier.path)
    return OverlapFault(
        path=overlap.later.path,
        problem=f"It overlaps {other} over {across} mm by {up} mm.",
        remedy="Move one of them or correct its size; touching is fine.",
        other=overlap.earlier.path,
        across_nm=across_nm,
        up_nm=up_nm,
    )


def _note(overlap: Overlap) -> Note:
    return Note(
        kind="overlap_within_rounding", place=box_of(overlap.place), width_nm=overlap.deep_nm
    )


def _sides(area: shapely.Geometry) -> tuple[int, int]:
    """Return the sides of the smallest box round an area, however turned, the longer one first.

    Of an area that is but a line or a place, they are 0.
    """
    box = shapely.minimum_rotated_rectangle(area)
    corners = shapely.get_coordinates(box)[:3]
    sides = (round(dist(*side)) for side in pairwise(corners))
    across, up, *_ = sorted((*sides, 0, 0), reverse=True)
    return across, up


def box_of(rect: Rect) -> Box:
    """Return the box as it stands in an answer."""
    left, lower, right, upper = rect
    return Box(left_nm=left, lower_nm=lower, right_nm=right, upper_nm=upper)


def solid(shape: Shape, origin: Place) -> shapely.Polygon:
    """Return the shape as a polygon measured from `origin`."""
    shell, *holes = (polygon_of(ring, origin) for ring in shape.outline)
    return shapely.difference(shell, shapely.union_all(holes)) if holes else shell
