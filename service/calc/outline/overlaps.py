"""Shapes over one another: faults, or rounding where they are not deep."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import dist

import numpy as np
import shapely

from service.calc.outline.axes import UPRIGHT, Numbers
from service.calc.outline.read import Plane
from service.calc.outline.shape import Path
from service.errors import Fault

MOST_FAULTS = 100
_AT_ONCE = 64
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
    """Yield the later and the earlier of two shapes that overlap, and the sides of the overlap.

    A few at a time, because of a module given 20,000 times the first pairs are enough.
    """
    group, boxes = _local_boxes(plane)
    tree = shapely.STRtree(plane.areas)
    for start in range(0, len(plane.areas), _AT_ONCE):
        later, earlier = tree.query(plane.areas[start : start + _AT_ONCE])
        later += start
        order = np.lexsort((earlier, later))
        order = order[(earlier < later)[order]]
        later, earlier = later[order], earlier[order]
        sides = np.minimum(boxes[later, 2:], boxes[earlier, 2:]) - np.maximum(
            boxes[later, :2], boxes[earlier, :2]
        )
        alike = group[later] == group[earlier]
        possible = np.flatnonzero(~alike | (sides > 0).all(axis=1))
        for at in possible:
            first, second = int(later[at]), int(earlier[at])
            size = tuple(sides[at].astype(int).tolist())
            if not alike[at]:
                size = _common_sides(plane.areas[first], plane.areas[second])
            elif group[first]:
                size = tuple(sorted(size, reverse=True))
            if min(size) > 0:
                yield first, second, size


def _local_boxes(plane: Plane) -> tuple[Numbers, Numbers]:
    """Return which modules have the same axes, and their boxes in those.

    Groups are numbered, 0 for upright modules; each drawn shape is a group of its own.
    """
    count = len(plane.areas)
    group = -1.0 - np.arange(count)
    boxes = np.zeros((count, 4))
    for number, (axes, (members, sides)) in enumerate(plane.boxes.items(), 1):
        group[members] = 0 if axes == UPRIGHT else number
        boxes[members] = sides
    return group, boxes


def _common_sides(one: shapely.Polygon, other: shapely.Polygon) -> tuple[int, int]:
    """Return the sides of the smallest box round what two shapes both cover, the longer first.

    Where it is an upright box, that is its width and height.
    """
    common = shapely.intersection(one, other)
    if common.area == 0:
        return 0, 0
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
