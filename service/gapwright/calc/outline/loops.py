"""Loops with named sides, from the polygons of arrays in their own axes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from math import isqrt

import shapely

from gapwright.calc.outline.closing import rotated
from gapwright.calc.outline.shape import (
    ROUNDING_NM,
    ArrayOutline,
    ArrayShape,
    Facing,
    Loop,
    Side,
    Spot,
)

Corners = list[tuple[Spot, Spot]]
"""The corners of a loop on the roof plane, each with its place in the array's own axes."""


def build_arrays(
    shapes: Iterable[ArrayShape], origin: Spot
) -> tuple[tuple[ArrayOutline, ...], tuple[ArrayShape, ...]]:
    """Return arrays with their loops and their shapes, lowest first, the leftmost of those first.

    Each shape has one form, whatever it was made from. Arrays are named A, B, and so on; holes
    A-hole-1, A-hole-2.
    """
    found = []
    for degrees, polygon in shapes:
        normal = shapely.orient_polygons(shapely.normalize(polygon))
        outer, *holes = (_ring(line, degrees, origin) for line in shapely.get_rings(normal))
        found.append((outer, sorted(holes, key=_lowest), ArrayShape(degrees, normal)))
    found.sort(key=lambda each: _lowest(each[0]))
    arrays = []
    for index, (outer, holes, _) in enumerate(found):
        letter = _letter(index)
        around = tuple(
            _loop(f"{letter}-hole-{number}", hole, hole=True)
            for number, hole in enumerate(holes, 1)
        )
        arrays.append(ArrayOutline(outer=_loop(letter, outer, hole=False), holes=around))
    return tuple(arrays), tuple(shape for _, _, shape in found)


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


def _lowest(ring: Corners) -> list[Spot]:
    return [(y, x) for (x, y), _ in ring]


def _letter(index: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name


def _ring(line: shapely.LinearRing, degrees: float, origin: Spot) -> Corners:
    points = shapely.get_coordinates(line)[:-1]
    own = [(round(x), round(y)) for x, y in points.tolist()]
    roof = [(int(x) + origin[0], int(y) + origin[1]) for x, y in rotated(points, degrees).tolist()]
    first = min(range(len(roof)), key=lambda at: roof[at][::-1])
    ring = list(zip(roof, own, strict=True))
    return ring[first:] + ring[:first]


def _loop(name: str, ring: Corners, *, hole: bool) -> Loop:
    """Return a loop with its sides; lengths are those in the array's own axes, where exact.

    Sides are named by facing, such as A-eave, and numbered if several face the same way: A-left-1,
    A-left-2.
    """
    ends = [*ring[1:], ring[0]]
    pairs = list(zip(ring, ends, strict=True))
    facings = [facing_of(end[0] - at[0], end[1] - at[1]) for (at, _), (end, _) in pairs]
    total, seen = Counter(facings), Counter[Facing]()
    sides = []
    for index, ((start, (x, y)), (end, after)) in enumerate(pairs):
        before, facing = ring[index - 1][1], facings[index]
        seen[facing] += 1
        number = f"-{seen[facing]}" if total[facing] > 1 else ""
        rotation = (x - before[0]) * (after[1] - y) - (y - before[1]) * (after[0] - x)
        sides.append(
            Side(
                name=f"{name}-{facing}{number}",
                loop=name,
                start=start,
                end=end,
                length_nm=length_nm(after[0] - x, after[1] - y),
                facing=facing,
                inside=rotation <= 0,
                hole=hole,
            )
        )
    return Loop(sides=tuple(sides))
