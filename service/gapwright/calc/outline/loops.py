"""Loops with corners and sides, from the polygons of arrays in their own axes."""

from __future__ import annotations

from collections.abc import Iterable
from math import isqrt

import shapely

from gapwright.calc.outline.closing import rotated
from gapwright.calc.outline.shape import (
    ROUNDING_NM,
    ArrayOutline,
    ArrayShape,
    Corner,
    Facing,
    Loop,
    Point,
    Side,
)

Place = tuple[int, int]


def build_arrays(
    shapes: Iterable[ArrayShape], origin: Place
) -> tuple[tuple[ArrayOutline, ...], tuple[ArrayShape, ...]]:
    """Return arrays with their loops and their shapes, lowest first, the leftmost of those first.

    Each shape has one form, whatever it was made from.
    """
    found = []
    for degrees, polygon in shapes:
        normal = shapely.orient_polygons(shapely.normalize(polygon))
        outer, *holes = (_loop(ring, degrees, origin) for ring in shapely.get_rings(normal))
        found.append((outer, sorted(holes, key=_place), ArrayShape(degrees, normal)))
    found.sort(key=lambda each: _place(each[0]))
    arrays = tuple(
        ArrayOutline(
            index=index,
            outer=outer,
            holes=tuple(holes),
            perimeter_nm=sum(loop.perimeter_nm for loop in (outer, *holes)),
        )
        for index, (outer, holes, _) in enumerate(found)
    )
    return arrays, tuple(shape for _, _, shape in found)


def length_nm(x_nm: int, y_nm: int) -> int:
    """Return the length of a straight run, exact to the nearest whole nanometer."""
    square = x_nm * x_nm + y_nm * y_nm
    root = isqrt(square)
    return root + (square - root * root > root)


def facing_of(x_nm: int, y_nm: int) -> Facing:
    """Return the facing of a side that has the array on its left."""
    if abs(x_nm) >= abs(y_nm) - ROUNDING_NM:
        return "eave" if x_nm > 0 else "ridge"
    return "right" if y_nm > 0 else "left"


def _place(loop: Loop) -> list[Place]:
    return [(corner.point.y_nm, corner.point.x_nm) for corner in loop.corners]


def _loop(line: shapely.LinearRing, degrees: float, origin: Place) -> Loop:
    """Return the loop along a ring; lengths are those in the array's own axes, where exact."""
    points = shapely.get_coordinates(line)[:-1]
    own: list[Place] = [(round(x), round(y)) for x, y in points.tolist()]
    roof = [(int(x) + origin[0], int(y) + origin[1]) for x, y in rotated(points, degrees).tolist()]
    first = min(range(len(roof)), key=lambda at: roof[at][::-1])
    own = own[first:] + own[:first]
    places = [Point(x_nm=x, y_nm=y) for x, y in roof[first:] + roof[:first]]
    sides: list[Side] = []
    corners: list[Corner] = []
    for index, (x, y) in enumerate(own):
        before, after = own[index - 1], own[(index + 1) % len(own)]
        start, end = places[index], places[(index + 1) % len(own)]
        rotation = (x - before[0]) * (after[1] - y) - (y - before[1]) * (after[0] - x)
        corners.append(
            Corner(index=index, point=start, kind="outside" if rotation > 0 else "inside")
        )
        sides.append(
            Side(
                index=index,
                start=start,
                end=end,
                length_nm=length_nm(after[0] - x, after[1] - y),
                facing=facing_of(end.x_nm - start.x_nm, end.y_nm - start.y_nm),
            )
        )
    return Loop(
        kind="outer" if shapely.is_ccw(line) else "hole",
        corners=tuple(corners),
        sides=tuple(sides),
        perimeter_nm=sum(side.length_nm for side in sides),
    )
