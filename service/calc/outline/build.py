"""From rings of points to loops with corners and edges."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import atan2, degrees, isqrt
from typing import Literal

from service.calc.outline.edges import Ring
from service.calc.outline.loops import Rings, from_lowest
from service.calc.outline.shape import ArrayOutline, Corner, Edge, Facing, Loop, Point

_TURN_PLACES = 6


def arrays_of(found: Iterable[Rings]) -> tuple[ArrayOutline, ...]:
    """Return the arrays with their loops, lowest first, the leftmost of those first."""
    started = sorted(
        (Rings(from_lowest(rings.outer), _ordered(rings.holes)) for rings in found),
        key=lambda rings: (rings.outer[0][::-1], rings.outer),
    )
    return tuple(_array(index, rings) for index, rings in enumerate(started))


def length_nm(x_nm: int, y_nm: int) -> int:
    """Return the length of a straight run, exact to the nearest whole nanometre."""
    if not x_nm or not y_nm:
        return abs(x_nm + y_nm)
    square = x_nm * x_nm + y_nm * y_nm
    root = isqrt(square)
    return root + (square - root * root > root)


def facing_of(x_nm: int, y_nm: int) -> Facing:
    """Return the side to which an edge with the array on its left faces."""
    if abs(x_nm) >= abs(y_nm):
        return "eave" if x_nm > 0 else "ridge"
    return "right" if y_nm > 0 else "left"


def _ordered(holes: Iterable[Ring]) -> tuple[Ring, ...]:
    return tuple(sorted(map(from_lowest, holes), key=lambda ring: (ring[0][::-1], ring)))


def _array(index: int, rings: Rings) -> ArrayOutline:
    outer = _loop("outer", rings.outer)
    holes = tuple(_loop("hole", ring) for ring in rings.holes)
    perimeter_nm = outer.perimeter_nm + sum(hole.perimeter_nm for hole in holes)
    return ArrayOutline(index=index, outer=outer, holes=holes, perimeter_nm=perimeter_nm)


def _loop(kind: Literal["outer", "hole"], ring: Ring) -> Loop:
    points = [Point(x_nm=x, y_nm=y) for x, y in ring]
    edges = tuple(_edges(points))
    return Loop(
        kind=kind,
        corners=tuple(_corners(ring, points)),
        edges=edges,
        perimeter_nm=sum(edge.length_nm for edge in edges),
    )


def _edges(points: list[Point]) -> Iterator[Edge]:
    for index, (start, end) in enumerate(zip(points, points[1:] + points[:1], strict=True)):
        x_nm, y_nm = end.x_nm - start.x_nm, end.y_nm - start.y_nm
        yield Edge(
            index=index,
            start=start,
            end=end,
            length_nm=length_nm(x_nm, y_nm),
            facing=facing_of(x_nm, y_nm),
        )


def _corners(ring: Ring, points: list[Point]) -> Iterator[Corner]:
    x, y = ring[-1]
    for index, (here, following) in enumerate(zip(ring, ring[1:] + ring[:1], strict=True)):
        turn = _turn_degrees(
            here[0] - x, here[1] - y, following[0] - here[0], following[1] - here[1]
        )
        kind: Literal["outside", "inside"] = "outside" if turn > 0 else "inside"
        yield Corner(index=index, point=points[index], kind=kind, turn_degrees=turn)
        x, y = here


def _turn_degrees(x: int, y: int, next_x: int, next_y: int) -> float:
    return round(degrees(atan2(x * next_y - y * next_x, x * next_x + y * next_y)), _TURN_PLACES)
