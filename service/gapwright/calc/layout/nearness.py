"""Which things lie near which: found through a tree of boxes, so that work grows with the finds.

A plane of a thousand arrays has thousands of sides and of rails, of which each side meets a few.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely import STRtree, box

from gapwright.calc.layout.plane import Spot
from gapwright.errors import Fault, InvalidRequestError

Straight = tuple[Spot, Spot]
"""A straight thing from end to end [nm]; a place is one that ends where it begins."""

_FEW = 256
_AT_ONCE = 64
MOST_MEETINGS = 1_000_000
"""How many times something may be near something else: some seconds of work, and ample for any
roof. Rails laid over each other by the thousand are a mistake."""


def near_each(
    asked: Sequence[Straight], things: Sequence[Straight], reach_nm: int, what: str
) -> list[list[int]]:
    """Return, for each that is asked, which things may be within reach of it, in order.

    Errors: InvalidRequestError at `what` where there are more than can be looked at.
    Limits: some that are up to a reach further away are included.
    """
    if len(asked) * len(things) <= min(_FEW, MOST_MEETINGS):
        return _near_few(asked, things, reach_nm)
    tree = STRtree(_boxes(things, 0))
    found: list[list[int]] = [[] for _ in asked]
    meetings = 0
    for first in range(0, len(asked), _AT_ONCE):
        numbers, others = tree.query(_boxes(asked[first : first + _AT_ONCE], reach_nm)).tolist()
        meetings += len(others)
        if meetings > MOST_MEETINGS:
            problem = "Too many for one request with this outline."
            remedy = "Remove duplicates, or split the job into several requests."
            raise InvalidRequestError([Fault(path=(what,), problem=problem, remedy=remedy)])
        for number, other in zip(numbers, others, strict=True):
            found[first + number].append(other)
    return [sorted(others) for others in found]


def _near_few(
    asked: Sequence[Straight], things: Sequence[Straight], reach_nm: int
) -> list[list[int]]:
    """Return the same one by one, which takes less than a tree where there are few."""
    rects = [_round(thing, 0) for thing in things]
    found = []
    for one in asked:
        left, lower, right, upper = _round(one, reach_nm)
        found.append(
            [
                number
                for number, (low_x, low_y, high_x, high_y) in enumerate(rects)
                if low_x <= right and left <= high_x and low_y <= upper and lower <= high_y
            ]
        )
    return found


def _boxes(straights: Sequence[Straight], reach_nm: int) -> object:
    """Return the boxes around some straight things as an array."""
    return box(*zip(*(_round(straight, reach_nm) for straight in straights), strict=True))


def _round(straight: Straight, reach_nm: int) -> tuple[int, int, int, int]:
    """Return the box around a straight thing, out to a reach: left, lower, right, upper."""
    (x, y), (u, v) = straight
    left, right = (x, u) if x < u else (u, x)
    lower, upper = (y, v) if y < v else (v, y)
    return left - reach_nm, lower - reach_nm, right + reach_nm, upper + reach_nm
