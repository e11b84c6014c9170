"""Where a return ends: from its bend in the edge diagonally to the rail beside it."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from service.calc.layout.plane import Rail, Spot
from service.calc.layout.supports import return_nm
from service.calc.outline import Edge
from service.rulesets.values import Values

_TOLERANCE_NM = 2_000_000
"""How far a point may be off a rail and still be on it; a pixel shows more than that."""


def return_end(
    edge: Edge, bend: Spot, mesh_nm: int, rails: Sequence[Rail], values: Values, *, backward: bool
) -> Spot | None:
    """Return where on its rail a return of `mesh_nm` ends, in the direction of work if it can.

    None where no rail fits, so that nothing is drawn that is not known.
    """
    ends = [_end_on(rail, edge, bend, mesh_nm, values, backward) for rail in rails]
    return min((end for end in ends if end), default=(0, None))[1]


def _end_on(
    rail: Rail, edge: Edge, bend: Spot, mesh_nm: int, values: Values, backward: bool
) -> tuple[int, Spot] | None:
    """Return the end of a return on one rail, after its rank: the least is the likeliest.

    It stays beside the edge if it can: beyond the edge's ends a rail sticks out of the array.
    """
    dx, dy = edge.end.x_nm - edge.start.x_nm, edge.end.y_nm - edge.start.y_nm
    length = hypot(dx, dy)
    ux, uy = dx / length, dy / length
    # the rail's ends from the bend: along the edge, and away from it toward the array
    (first, near), (last, far) = sorted(
        (
            ux * (x - bend[0]) + uy * (y - bend[1]),
            ux * (y - bend[1]) - uy * (x - bend[0]),
        )
        for x, y in (rail.start, rail.end)
    )
    away = max(near, far)
    out_of_line = abs(near - far) > values.tape_grid + _TOLERANCE_NM
    if out_of_line or away < 0 or return_nm(round(away), values) != mesh_nm:
        return None
    run = -values.return_leg if backward else values.return_leg
    edge_start = ux * (edge.start.x_nm - bend[0]) + uy * (edge.start.y_nm - bend[1])
    beside_edge = max(first, edge_start), min(last, edge_start + length)
    choices = [(along, part) for part in (beside_edge, (first, last)) for along in (run, -run)]
    for rank, (along, (low, high)) in enumerate(choices):
        if low - _TOLERANCE_NM <= along <= high + _TOLERANCE_NM:
            x = bend[0] + ux * along - uy * away
            y = bend[1] + uy * along + ux * away
            return rank, (round(x), round(y))
    return None
