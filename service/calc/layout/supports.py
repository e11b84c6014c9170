"""What the channel can be fixed to: rails that cross an edge, and rails within reach of one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot, isqrt
from typing import Literal

import msgspec

from service.calc.layout.plane import Rail
from service.calc.outline import Edge
from service.quantity.whole import whole
from service.rulesets.values import Values


class Tab(msgspec.Struct, frozen=True, kw_only=True):
    """A place where rails cross the channel [nm]; `upright`: all of them run up the slope."""

    at_nm: int
    upright: bool

    @property
    def side(self) -> Literal["upslope", "beside"]:
        """Return where the tab is: on the rail's upslope face, or beside one that has none."""
        return "beside" if self.upright else "upslope"


class Beside(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of an edge with a rail within reach, and the mesh that a return takes [nm]."""

    start_nm: int
    end_nm: int
    return_nm: int


def tabs_on(edge: Edge, rails: Sequence[Rail]) -> tuple[Tab, ...]:
    """Return where rails cross an edge [nm from its start], in order, each place once."""
    return once((at, rail.upright) for rail in rails if (at := _crossing(edge, rail)) is not None)


def once(crossings: Iterable[tuple[int, bool]]) -> tuple[Tab, ...]:
    """Return the tabs at places [nm] where rails cross that may be upright, each place once."""
    found: dict[int, bool] = {}
    for at_nm, upright in crossings:
        found[at_nm] = upright and found.get(at_nm, True)
    return tuple(Tab(at_nm=at_nm, upright=upright) for at_nm, upright in sorted(found.items()))


def beside(edge: Edge, rails: Sequence[Rail], values: Values) -> list[Beside]:
    """Return the stretches of an edge from which a return can be made, in order, none twice.

    A return runs diagonally to the nearest rail beside the edge: one leg is the distance to the
    rail, the other `return_leg` along the edge; a tab is added. Only rails in line with the edge
    count, under it or on the array's side, no further away than `return_reach`; out of line by up
    to a mark of the tape over a rail's length is in line to a crew, and its far end counts.
    """
    near = sorted(
        found
        for rail in rails
        if _may_be_in_line(edge, rail, values) and (found := _alongside(edge, rail, values))
    )
    free = [(0, edge.length_nm)]
    stretches = []
    for away, start, end in near:
        used = [(max(low, start), min(high, end)) for low, high in free]
        used = [(low, high) for low, high in used if high - low >= values.return_leg]
        length = return_nm(away, values)
        stretches += [Beside(start_nm=low, end_nm=high, return_nm=length) for low, high in used]
        free = [rest for part in free for rest in _less(part, used)]
    return sorted(stretches, key=lambda stretch: stretch.start_nm)


def return_nm(away_nm: int, values: Values) -> int:
    """Return the mesh of a return to a rail at a distance [nm], rounded up to the tape's grid."""
    square = away_nm * away_nm + values.return_leg * values.return_leg
    root = isqrt(square)
    diagonal = root + (root * root < square)
    grid = values.tape_grid
    return whole(diagonal + values.return_tab, grid) * grid


def _crossing(edge: Edge, rail: Rail) -> int | None:
    """Return where a rail crosses an edge [nm from its start]; exact where both are upright."""
    ax, ay = edge.start.x_nm, edge.start.y_nm
    ux, uy = edge.end.x_nm - ax, edge.end.y_nm - ay
    (px, py), (qx, qy) = rail.start, rail.end
    first = ux * (py - ay) - uy * (px - ax)
    second = ux * (qy - ay) - uy * (qx - ax)
    if first == second or (first > 0) == (second > 0):
        return None
    # the rail's point on the edge's line, as a part of the edge's own direction
    over = first - second
    along = ux * ((px - ax) * over + (qx - px) * first) + uy * (
        (py - ay) * over + (qy - py) * first
    )
    length = ux * ux + uy * uy
    if over < 0:
        over, along = -over, -along
    if not 0 <= along <= length * over:
        return None
    return along * edge.length_nm // (length * over)


def _may_be_in_line(edge: Edge, rail: Rail, values: Values) -> bool:
    """Return quickly whether a rail may be in line with an edge; most that cross it are not."""
    ux, uy = edge.end.x_nm - edge.start.x_nm, edge.end.y_nm - edge.start.y_nm
    (px, py), (qx, qy) = rail.start, rail.end
    return abs(ux * (qy - py) - uy * (qx - px)) <= 2 * values.tape_grid * edge.length_nm


def _alongside(edge: Edge, rail: Rail, values: Values) -> tuple[int, int, int] | None:
    """Return how far away a rail lies beside an edge, and from where to where [nm]."""
    ax, ay = edge.start.x_nm, edge.start.y_nm
    length = hypot(edge.end.x_nm - ax, edge.end.y_nm - ay)
    ux, uy = (edge.end.x_nm - ax) / length, (edge.end.y_nm - ay) / length
    ends = []
    for x, y in (rail.start, rail.end):
        dx, dy = x - ax, y - ay
        ends.append((round(ux * dx + uy * dy), round(ux * dy - uy * dx)))
    (first, near), (second, far) = sorted(ends)
    if abs(near - far) > values.tape_grid or not 0 <= min(near, far) <= values.return_reach:
        return None
    start, end = max(first, 0), min(second, edge.length_nm)
    return (max(near, far), start, end) if start < end else None


def _less(part: tuple[int, int], used: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return what is left of a stretch when others are taken out of it."""
    left = [part]
    for low, high in used:
        left = [
            rest
            for start, end in left
            for rest in ((start, min(end, low)), (max(start, high), end))
            if rest[0] < rest[1]
        ]
    return left
