"""Axes rotated with an array, in which its modules are upright boxes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

Numbers = npt.NDArray[np.float64]
Polygons = npt.NDArray[np.object_]
Place = tuple[float, float]


class Axes(NamedTuple):
    """Axes rotated counterclockwise about the origin of the roof plane, 0 to 90 degrees.

    Points are rows of (x, y) in whole nanometers. Not rotated, they stay exactly as they are.
    """

    degrees: float

    def from_roof(self, points: Numbers) -> Numbers:
        """Return points of the roof plane in these axes."""
        return rotated(points, -self.degrees)

    def to_roof(self, points: Numbers) -> Numbers:
        """Return points of these axes on the roof plane."""
        return rotated(points, self.degrees)


UPRIGHT = Axes(0.0)


def rotated(points: Numbers, degrees: float | Numbers) -> Numbers:
    """Return points rotated counterclockwise about the origin, each by its own angle or all by one.

    Not rotated, they stay exactly as they are.
    """
    if not np.any(degrees):
        return points
    along, up = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    x, y = points[:, 0], points[:, 1]
    return np.rint(np.column_stack([x * along - y * up, x * up + y * along]))


def polygons_of(area: shapely.Geometry) -> Polygons:
    """Return the polygons of an area; points and lines are left out."""
    parts = shapely.get_parts(area)
    is_polygon = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    polygons: Polygons = parts[is_polygon & ~shapely.is_empty(parts)]
    return polygons


def tidied(polygons: Polygons, rounding_nm: float = 0) -> Polygons:
    """Return polygons without corners at which the edge runs straight on.

    Simplifying is quick but keeps a few of them: where it happened to part a ring.
    """
    tidy: Polygons = shapely.simplify(polygons, rounding_nm)
    for at in np.flatnonzero(shapely.get_num_coordinates(tidy) > 5):
        shell, *holes = (
            _straightened(ring.coords[:-1], rounding_nm) for ring in shapely.get_rings(tidy[at])
        )
        tidy[at] = shapely.Polygon(shell, holes)
    return tidy


def _straightened(ring: Sequence[Place], rounding_nm: float) -> list[Place]:
    """Return a ring without corners within `rounding_nm` of the line from the one before on."""
    kept: list[Place] = []
    for at, (x, y) in enumerate(ring):
        before = kept[-1] if kept else ring[-1]
        # at the end of the ring the first corner may be gone already
        after = ring[at + 1] if at + 1 < len(ring) else (kept or ring)[0]
        along, up = after[0] - before[0], after[1] - before[1]
        aside = along * (y - before[1]) - up * (x - before[0])
        if aside * aside > rounding_nm * rounding_nm * (along * along + up * up):
            kept.append((x, y))
    return kept if len(kept) == len(ring) else _straightened(kept, rounding_nm)


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
