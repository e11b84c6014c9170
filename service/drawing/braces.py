"""Where a return comes to lie: from its bend in the edge diagonally to the rail beside it."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from math import hypot

from service.calc.layout.plane import Rail, Spot
from service.calc.layout.supports import return_nm
from service.calc.outline import Edge
from service.rulesets.values import Values

_SLACK_NM = 2_000_000
"""How far a place may lie off a rail and still be on it; a pixel shows more than that."""


class Braces:
    """The rails of a plane, found by where they lie; nearly level and upright ones at once."""

    def __init__(self, rails: Sequence[Rail], values: Values) -> None:
        self._values = values
        self._line_nm = values.tape_grid + _SLACK_NM
        self._level = sorted((r for r in rails if abs(_rise(r)) <= self._line_nm), key=_height)
        self._upright = sorted((r for r in rails if abs(_run(r)) <= self._line_nm), key=_place)
        self._heights = [_height(rail) for rail in self._level]
        self._places = [_place(rail) for rail in self._upright]
        self._slanted = [r for r in rails if _run(r) and _rise(r)]

    def foot(self, edge: Edge, bend: Spot, made_nm: int, *, backward: bool) -> Spot | None:
        """Return where on its rail a return of `made_nm` mesh ends, as the work goes if it can.

        None where no rail fits, so that nothing is drawn that is not known.
        """
        reach = self._values.return_reach
        feet = [
            foot
            for rail in self._near(edge, bend, reach)
            if (foot := self._foot_on(rail, edge, bend, made_nm, backward))
        ]
        return min(feet)[1] if feet else None

    def _near(self, edge: Edge, bend: Spot, reach: int) -> Iterator[Rail]:
        x, y = bend
        if edge.start.y_nm == edge.end.y_nm:
            first, last = y - reach - self._line_nm, y + reach + self._line_nm
            yield from self._level[
                bisect_left(self._heights, first) : bisect_right(self._heights, last)
            ]
        elif edge.start.x_nm == edge.end.x_nm:
            first, last = x - reach - self._line_nm, x + reach + self._line_nm
            yield from self._upright[
                bisect_left(self._places, first) : bisect_right(self._places, last)
            ]
        else:
            yield from self._slanted

    def _foot_on(
        self, rail: Rail, edge: Edge, bend: Spot, made_nm: int, backward: bool
    ) -> tuple[int, Spot] | None:
        """Return the foot of a return on one rail; the first number tells the likelier way.

        It stays beside the edge if it can: beyond the edge's ends a rail sticks out at the side.
        """
        dx, dy = edge.end.x_nm - edge.start.x_nm, edge.end.y_nm - edge.start.y_nm
        long = hypot(dx, dy)
        ux, uy = dx / long, dy / long
        ends = []
        for x, y in (rail.start, rail.end):
            right, above = x - bend[0], y - bend[1]
            ends.append((ux * right + uy * above, ux * above - uy * right))
        (first, near), (last, far) = sorted(ends)
        away = max(near, far)
        if abs(near - far) > self._line_nm or away < 0:
            return None
        if return_nm(round(away), self._values) != made_nm:
            return None
        leg = -self._values.return_leg if backward else self._values.return_leg
        before = ux * (edge.start.x_nm - bend[0]) + uy * (edge.start.y_nm - bend[1])
        beside = max(first, before), min(last, before + long)
        ways = [(step, bounds) for bounds in (beside, (first, last)) for step in (leg, -leg)]
        for rank, (step, (low, high)) in enumerate(ways):
            if low - _SLACK_NM <= step <= high + _SLACK_NM:
                across = bend[0] + ux * step - uy * away
                up = bend[1] + uy * step + ux * away
                return rank, (round(across), round(up))
        return None


def _run(rail: Rail) -> int:
    return rail.end[0] - rail.start[0]


def _rise(rail: Rail) -> int:
    return rail.end[1] - rail.start[1]


def _height(rail: Rail) -> int:
    return rail.start[1]


def _place(rail: Rail) -> int:
    return rail.start[0]
