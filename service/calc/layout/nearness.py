"""Which things lie near which: found through a tree of boxes, so that work grows with the finds.

A plane of a thousand arrays has thousands of edges and of rails, of which each edge meets a few.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely import STRtree, box

from service.calc.layout.plane import Spot
from service.errors import BadInputError, Fault

Straight = tuple[Spot, Spot]
"""A straight thing from end to end [nm]; a place is one that ends where it begins."""

_AT_ONCE = 64
MOST_MEETINGS = 1_000_000
"""How many times something may be near something else: some seconds of work, and ample for any
roof. Rails laid over each other by the thousand are a mistake."""


def near_each(
    asked: Sequence[Straight], things: Sequence[Straight], reach_nm: int, what: str
) -> list[list[int]]:
    """Return, for each that is asked, which things may be within reach of it, in order.

    Errors: BadInputError at `what` where there are more than can be looked at.
    Limits: some are told that are up to a reach further away.
    """
    tree = STRtree([_round(thing, 0) for thing in things])
    found: list[list[int]] = [[] for _ in asked]
    meetings = 0
    for first in range(0, len(asked), _AT_ONCE):
        boxes = [_round(one, reach_nm) for one in asked[first : first + _AT_ONCE]]
        numbers, others = tree.query(boxes).tolist()
        meetings += len(others)
        if meetings > MOST_MEETINGS:
            problem = "There are too many for this outline to be looked at."
            remedy = "Give each once, or lay out fewer arrays at once."
            raise BadInputError([Fault(path=(what,), problem=problem, remedy=remedy)])
        for number, other in zip(numbers, others, strict=True):
            found[first + number].append(other)
    return [sorted(others) for others in found]


def _round(straight: Straight, reach_nm: int) -> object:
    """Return the box round a straight thing, out to a reach."""
    (x, y), (u, v) = straight
    return box(
        min(x, u) - reach_nm, min(y, v) - reach_nm, max(x, u) + reach_nm, max(y, v) + reach_nm
    )
