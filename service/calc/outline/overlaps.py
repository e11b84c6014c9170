"""Shapes over one another: faults, or rounding where they are not deep."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import dist

import numpy as np
import numpy.typing as npt
import shapely

from service.calc.outline.axes import Numbers, Polygons
from service.calc.outline.read import Plane
from service.calc.outline.shape import Path
from service.errors import Fault

MOST_FAULTS = 100
_SHAPES_AT_ONCE, _PAIRS_AT_ONCE = 64, 4096
_NM_PER_MM = 1_000_000
_STOPPED = Fault(
    path=(),
    problem=f"The first {MOST_FAULTS} overlaps are listed; the rest was not looked at.",
    remedy="Check for modules given twice.",
)
Healed = tuple[int, Numbers]
"""How deep something taken for rounding is [nm], and its corners on the roof plane."""


class OverlapFault(Fault, frozen=True, kw_only=True):
    """Two shapes over one another: the other one, and how wide and high what both cover is [nm].

    Where that is slanted, `across_nm` is its longer side and `up_nm` its shorter one.
    """

    other: Path
    across_nm: int
    up_nm: int


def find_overlaps(plane: Plane, tolerance_nm: int) -> tuple[list[Fault], list[Healed]]:
    """Return a fault for each overlap deeper than `tolerance_nm`, and the others.

    Limits: MOST_FAULTS faults, and one more that says so.
    """
    faults: list[Fault] = []
    healed: list[Healed] = []
    for later, earlier, sides in _overlaps(plane):
        if min(sides) <= tolerance_nm:
            both = shapely.bounds(plane.areas[[later, earlier]])
            healed.append(
                (min(sides), np.array([both[:, :2].max(axis=0), both[:, 2:].min(axis=0)]))
            )
            continue
        if len(faults) == MOST_FAULTS:
            faults.append(_STOPPED)
            break
        faults.append(_fault(plane.paths[later], plane.paths[earlier], sides))
    return faults, healed


def _overlaps(plane: Plane) -> Iterator[tuple[int, int, tuple[int, int]]]:
    """Yield the later and the earlier of two shapes that overlap, and the sides of the overlap."""
    degrees, boxes, areas = plane.degrees, plane.boxes, plane.areas
    for later, earlier in _near_pairs(plane.areas):
        alike = degrees[later] == degrees[earlier]
        low = np.maximum(boxes[later, :2], boxes[earlier, :2])
        sides = np.minimum(boxes[later, 2:], boxes[earlier, 2:]) - low
        common = np.full(len(later), None, dtype=object)
        common[~alike] = shapely.intersection(areas[later[~alike]], areas[earlier[~alike]])
        over = np.where(alike, (sides > 0).all(axis=1), shapely.area(common) > 0)
        for at in np.flatnonzero(over):
            first, second = int(later[at]), int(earlier[at])
            if alike[at]:
                across, up = (round(side) for side in sides[at])
                size = (across, up) if not degrees[first] else (max(across, up), min(across, up))
            else:
                size = _sides(common[at])
            yield first, second, size


def _near_pairs(areas: Polygons) -> Iterator[npt.NDArray[np.int64]]:
    """Yield the later and the earlier of shapes whose bounds meet, some pairs at a time.

    Of a module given 20,000 times there are too many pairs to look at them all.
    """
    tree = shapely.STRtree(areas)
    for start in range(0, len(areas), _SHAPES_AT_ONCE):
        pairs = tree.query(areas[start : start + _SHAPES_AT_ONCE])
        pairs[0] += start
        pairs = pairs[:, pairs[0] > pairs[1]]
        pairs = pairs[:, np.lexsort((pairs[1], pairs[0]))]
        for first in range(0, pairs.shape[1], _PAIRS_AT_ONCE):
            yield pairs[:, first : first + _PAIRS_AT_ONCE]


def _sides(common: shapely.Geometry) -> tuple[int, int]:
    """Return the sides of the smallest box round what two shapes both cover, the longer first.

    Where it is an upright box, that is its width and height.
    """
    left, lower, right, upper = common.bounds
    if np.isclose((right - left) * (upper - lower), common.area, rtol=1e-9):
        return round(right - left), round(upper - lower)
    corners = shapely.get_coordinates(shapely.oriented_envelope(common))[:3]
    sides = sorted(max(1, round(dist(*side))) for side in pairwise(corners))
    return sides[1], sides[0]


def _fault(later: Path, earlier: Path, sides: tuple[int, int]) -> OverlapFault:
    across, up = (f"{nm / _NM_PER_MM:.6f}".rstrip("0").rstrip(".") for nm in sides)
    other = "/".join(str(step) for step in earlier)
    return OverlapFault(
        path=later,
        problem=f"It overlaps {other} over {across} mm by {up} mm.",
        remedy="Move one of them or correct its size; touching is fine.",
        other=earlier,
        across_nm=sides[0],
        up_nm=sides[1],
    )
