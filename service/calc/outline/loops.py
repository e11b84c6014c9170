"""Loops with corners and edges, from the polygons of arrays in their own axes."""

from __future__ import annotations

from collections.abc import Iterable
from math import isqrt
from typing import Literal, NamedTuple

import shapely

from service.calc.outline.axes import Axes
from service.calc.outline.shape import (
    ROUNDING_NM,
    ArrayOutline,
    Corner,
    Edge,
    Facing,
    Loop,
    Point,
)

Place = tuple[int, int]


class ArrayShape(NamedTuple):
    """An array as a polygon in its own axes."""

    axes: Axes
    polygon: shapely.Polygon


class _Ring(NamedTuple):
    """A ring from its lowest corner on, the leftmost of those.

    Its corners are on the roof plane and in the array's own axes, where lengths are exact.
    """

    roof: list[Place]
    own: list[Place]


def build_arrays(shapes: Iterable[ArrayShape], origin: Place) -> tuple[ArrayOutline, ...]:
    """Return arrays with their loops, lowest first, the leftmost of those first."""
    arrays = sorted((_rings(shape, origin) for shape in shapes), key=lambda rings: _key(rings[0]))
    return tuple(_array(index, *rings) for index, rings in enumerate(arrays))


def length_nm(x_nm: int, y_nm: int) -> int:
    """Return the length of a straight run, exact to the nearest whole nanometer."""
    square = x_nm * x_nm + y_nm * y_nm
    root = isqrt(square)
    return root + (square - root * root > root)


def facing_of(x_nm: int, y_nm: int) -> Facing:
    """Return the side to which an edge with the array on its left faces."""
    if abs(x_nm) >= abs(y_nm) - ROUNDING_NM:
        return "eave" if x_nm > 0 else "ridge"
    return "right" if y_nm > 0 else "left"


def _rings(shape: ArrayShape, origin: Place) -> tuple[_Ring, list[_Ring]]:
    polygon = shapely.orient_polygons(shape.polygon)
    outer, *holes = (_ring(ring, shape.axes, origin) for ring in shapely.get_rings(polygon))
    return outer, sorted(holes, key=_key)


def _ring(line: shapely.LinearRing, axes: Axes, origin: Place) -> _Ring:
    points = shapely.get_coordinates(line)[:-1]
    own: list[Place] = [(round(x), round(y)) for x, y in points.tolist()]
    roof = [(int(x) + origin[0], int(y) + origin[1]) for x, y in axes.to_roof(points).tolist()]
    first = min(range(len(roof)), key=lambda at: roof[at][::-1])
    return _Ring(roof[first:] + roof[:first], own[first:] + own[:first])


def _key(ring: _Ring) -> tuple[Place, list[Place]]:
    return ring.roof[0][::-1], ring.roof


def _array(index: int, outer: _Ring, holes: list[_Ring]) -> ArrayOutline:
    loop = _loop("outer", outer)
    inner = tuple(_loop("hole", hole) for hole in holes)
    perimeter_nm = loop.perimeter_nm + sum(hole.perimeter_nm for hole in inner)
    return ArrayOutline(index=index, outer=loop, holes=inner, perimeter_nm=perimeter_nm)


def _loop(kind: Literal["outer", "hole"], ring: _Ring) -> Loop:
    points = [Point(x_nm=x, y_nm=y) for x, y in ring.roof]
    edges: list[Edge] = []
    corners: list[Corner] = []
    count = len(points)
    for index, (x, y) in enumerate(ring.own):
        before, after = ring.own[index - 1], ring.own[(index + 1) % count]
        start, end = points[index], points[(index + 1) % count]
        turn = (x - before[0]) * (after[1] - y) - (y - before[1]) * (after[0] - x)
        corners.append(Corner(index=index, point=start, kind="outside" if turn > 0 else "inside"))
        edges.append(
            Edge(
                index=index,
                start=start,
                end=end,
                length_nm=length_nm(after[0] - x, after[1] - y),
                facing=facing_of(end.x_nm - start.x_nm, end.y_nm - start.y_nm),
            )
        )
    return Loop(
        kind=kind,
        corners=tuple(corners),
        edges=tuple(edges),
        perimeter_nm=sum(edge.length_nm for edge in edges),
    )
