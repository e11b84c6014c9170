"""Which things lie near which: found through a tree of boxes, so that work grows with the finds.

A plane of a thousand arrays has thousands of sides and of rails, of which each side meets a few.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from shapely import STRtree, box

from gapwright.calc.outline import Spot
from gapwright.errors import Fault, InvalidRequestError

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

    Errors: InvalidRequestError at `what` where there are more than can be looked at.
    Limits: some that are up to a reach further away are included.
    """
    if not asked or not things:
        return [[] for _ in asked]
    tree, around = STRtree(_boxes(things, 0)), _boxes(asked, reach_nm)
    found: list[list[int]] = [[] for _ in asked]
    meetings = 0
    for first in range(0, len(asked), _AT_ONCE):
        numbers, others = tree.query(around[first : first + _AT_ONCE]).tolist()
        meetings += len(others)
        if meetings > MOST_MEETINGS:
            problem = "Too many for one request with this outline."
            remedy = "Remove duplicates, or split the job into several requests."
            raise InvalidRequestError([Fault(path=(what,), problem=problem, remedy=remedy)])
        for number, other in zip(numbers, others, strict=True):
            found[first + number].append(other)
    return [sorted(others) for others in found]


def _boxes(straights: Sequence[Straight], reach_nm: int) -> npt.NDArray[np.object_]:
    """Return the boxes around some straight things, out to a reach."""
    ends = np.array(straights, dtype=float)
    low, high = ends.min(axis=1) - reach_nm, ends.max(axis=1) + reach_nm
    return np.asarray(box(*low.T, *high.T), dtype=object)
