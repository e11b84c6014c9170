"""Axes rotated with an array, in which its modules are upright boxes."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

Numbers = npt.NDArray[np.float64]
Polygons = npt.NDArray[np.object_]


class Axes(NamedTuple):
    """Axes rotated counterclockwise about the origin of the roof plane, 0 to 90 degrees.

    Points are rows of (x, y) in whole nanometers. Not rotated, they stay exactly as they are.
    """

    degrees: float

    def from_roof(self, points: Numbers) -> Numbers:
        """Return points of the roof plane in these axes."""
        return self._rotated(points, -1)

    def to_roof(self, points: Numbers) -> Numbers:
        """Return points of these axes on the roof plane."""
        return self._rotated(points, 1)

    def _rotated(self, points: Numbers, sign: int) -> Numbers:
        if not self.degrees:
            return points
        along, up = cos(radians(self.degrees)), sign * sin(radians(self.degrees))
        x, y = points[:, 0], points[:, 1]
        return np.rint(np.column_stack([x * along - y * up, x * up + y * along]))


UPRIGHT = Axes(0.0)


def polygons_of(area: shapely.Geometry) -> Polygons:
    """Return the polygons of an area; points and lines are left out."""
    parts = shapely.get_parts(area)
    is_polygon = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    return parts[is_polygon & ~shapely.is_empty(parts)]


def tidied(polygons: Polygons, rounding_nm: float = 0) -> Polygons:
    """Return polygons without corners at which the edge runs straight on.

    They start at a true corner first, because simplifying keeps the first point.
    """
    return shapely.simplify(shapely.normalize(polygons), rounding_nm)


def are_upright(polygons: Polygons) -> npt.NDArray[np.bool_]:
    """Return of each polygon whether all its edges are upright or level."""
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    slanted = (np.diff(points, axis=0) != 0).all(axis=1) & (ring[1:] == ring[:-1])
    upright = np.ones(len(polygons), dtype=bool)
    upright[polygon[ring[1:][slanted]]] = False
    return upright


def connected(count: int, one: Sequence[int], other: Sequence[int]) -> list[list[int]]:
    """Return the numbers below `count` in groups that pairs (one, other) connect."""
    beside: dict[int, list[int]] = {number: [] for number in range(count)}
    for first, second in zip(one, other, strict=True):
        beside[first].append(second)
        beside[second].append(first)
    groups: list[list[int]] = []
    seen: set[int] = set()
    for number in range(count):
        if number in seen:
            continue
        seen.add(number)
        group = [number]
        for member in group:  # the group grows as it is walked
            following = [each for each in beside[member] if each not in seen]
            seen.update(following)
            group += following
        groups.append(sorted(group))
    return groups
