"""What the channel can be fixed to: rails that cross a side, and rails within reach of one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import ceil, floor, hypot, isqrt
from typing import Literal

import msgspec

from gapwright.calc.layout.plane import Rail
from gapwright.calc.outline import Side, Spot
from gapwright.quantity.whole import whole
from gapwright.rulesets.values import Values


class Tab(msgspec.Struct, frozen=True, kw_only=True):
    """A place where rails cross the channel [nm]; `upright`: all of them run up the slope."""

    at_nm: int
    upright: bool

    @property
    def rail_side(self) -> Literal["upslope", "beside"]:
        """Return where the tab is: on the rail's upslope face, or next to one that has none."""
        return "beside" if self.upright else "upslope"


Direction = Literal["onward", "back"]


class ReturnStretch(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of a side from which a return can be made to one rail, and the mesh it takes [nm].

    `away_nm` is the distance to the rail, `leg_nm` how far along the side the foot lies from the
    bend: ahead of it, as the run goes, where the return runs onward.
    """

    start_nm: int
    end_nm: int
    return_nm: int
    away_nm: int
    leg_nm: int
    direction: Direction


def tabs_on(side: Side, rails: Sequence[Rail]) -> tuple[Tab, ...]:
    """Return where rails cross a side [nm from its start], in order, each place once."""
    return merged_tabs(
        (at, rail.upright) for rail in rails if (at := _crossing(side, rail)) is not None
    )


def merged_tabs(crossings: Iterable[tuple[int, bool]]) -> tuple[Tab, ...]:
    """Return the tabs at places [nm] where rails cross that may be upright, each place once."""
    found: dict[int, bool] = {}
    for at_nm, upright in crossings:
        found[at_nm] = upright and found.get(at_nm, True)
    return tuple(Tab(at_nm=at_nm, upright=upright) for at_nm, upright in sorted(found.items()))


def return_stretches(
    side: Side, rails: Sequence[Rail], around: Sequence[Side], values: Values
) -> tuple[ReturnStretch, ...]:
    """Return the stretches of a side from which a return can be made under the array.

    A return runs diagonally to a rail next to the side: one leg is the distance to the rail, the
    other `return_run` along the side, either way; a tab is added. Only rails in line with the
    side count, under it or under the array, no further away than `max_return_reach`. A rail that
    is out of line by up to a cut increment over its length counts, by its far end.
    No return crosses another side: `around` are all those within reach.
    """
    found = []
    for rail in rails:
        (first, near), (last, far) = sorted(
            _from_side(side, spot) for spot in (rail.start, rail.end)
        )
        away = max(near, far)
        if (
            abs(near - far) > values.cut_increment
            or not 0 <= min(near, far) <= values.max_return_reach
        ):
            continue
        walls = [
            (_from_side(side, wall.start), _from_side(side, wall.end))
            for wall in around
            if wall != side
        ]
        legs: tuple[tuple[Direction, int], ...] = (
            ("onward", values.return_run),
            ("back", -values.return_run),
        )
        for direction, leg in legs:
            low, high = max(first - leg, 0), min(last - leg, side.length_nm)
            blocked = sorted(_blocked(walls, away, leg))
            found += [
                ReturnStretch(
                    start_nm=start,
                    end_nm=end,
                    return_nm=return_nm(away, values),
                    away_nm=away,
                    leg_nm=leg,
                    direction=direction,
                )
                for start, end in _free(low, high, blocked)
            ]
    return tuple(sorted(found, key=lambda stretch: (stretch.start_nm, stretch.return_nm)))


def _from_side(side: Side, spot: Spot) -> tuple[int, int]:
    """Return how far along a side a spot lies, and how far to the array's side of it [nm]."""
    (ax, ay), (bx, by) = side.start, side.end
    dx, dy = bx - ax, by - ay
    length = hypot(dx, dy)
    right, up = spot[0] - ax, spot[1] - ay
    return round((dx * right + dy * up) / length), round((dx * up - dy * right) / length)


def _blocked(
    walls: Sequence[tuple[Spot, Spot]], away: int, leg: int
) -> Iterator[tuple[float, float]]:
    """Yield from where to where returns to a rail would cross another side [nm].

    Seen along the returns, which are all parallel, each side covers a stretch of this one.
    """
    for (u, v), (x, y) in walls:
        low, high = max(min(v, y), 0), min(max(v, y), away)
        if low >= high and not (v == y and 0 < v < away):
            continue
        seen = []
        for depth in (low, high):
            along = u + (x - u) * (depth - v) / (y - v) if y != v else 0
            seen.append(along - leg * depth / away)
        if y == v:
            seen = [u - leg * v / away, x - leg * v / away]
        yield min(seen), max(seen)


def _free(low: int, high: int, blocked: Sequence[tuple[float, float]]) -> Iterator[tuple[int, int]]:
    """Yield the stretches between two places that are not inside any blocked one."""
    for start, end in blocked:
        if low < start and low <= high:
            yield low, min(floor(start), high)
        low = max(low, ceil(end))
    if low <= high:
        yield low, high


def return_nm(away_nm: int, values: Values) -> int:
    """Return the mesh of a return to a rail at a distance [nm], rounded up to the tape's grid."""
    square = away_nm * away_nm + values.return_run * values.return_run
    root = isqrt(square)
    diagonal = root + (root * root < square)
    grid = values.cut_increment
    return whole(diagonal + values.return_tab_length, grid) * grid


def _crossing(side: Side, rail: Rail) -> int | None:
    """Return where a rail crosses a side [nm from its start]; exact where both are upright."""
    (ax, ay), (bx, by) = side.start, side.end
    (px, py), (qx, qy) = rail.start, rail.end
    ux, uy = bx - ax, by - ay
    first = ux * (py - ay) - uy * (px - ax)
    second = ux * (qy - ay) - uy * (qx - ax)
    if first == second or (first > 0) == (second > 0):
        return None
    # the rail's point on the side's line, as a part of the side's own direction
    over = first - second
    along = ux * ((px - ax) * over + (qx - px) * first) + uy * (
        (py - ay) * over + (qy - py) * first
    )
    length = ux * ux + uy * uy
    if over < 0:
        over, along = -over, -along
    if not 0 <= along <= length * over:
        return None
    return along * side.length_nm // (length * over)
