"""Which things lie near which: found through a tree of boxes, so that work grows with the finds.

A plane of a thousand arrays has thousands of sides and of rails, of which each side meets a few.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from gapwright.calc.outline.closing import Numbers, Polygons
from gapwright.calc.outline.shape import Spot
from gapwright.errors import Fault, InvalidRequestError

Indices = npt.NDArray[np.int64]
Straight = tuple[Spot, Spot]
"""A straight thing from end to end [nm]; a place is one that ends where it begins."""

_AT_ONCE = 64
MOST_MEETINGS = 1_000_000
"""How many times something may be near something else: some seconds of work, and ample for any
roof. Rails laid over each other by the thousand are a mistake."""


def near_pairs(areas: Polygons, reach_nm: float, most: int) -> tuple[Indices, Indices, bool]:
    """Return the later and the earlier of shapes whose bounds are within reach, and if all are.

    It stops soon after `most` of them: of a module given 20,000 times there are 200 million.
    """
    bounds = shapely.bounds(areas)
    # each pair is met from both sides, and each shape itself
    later, earlier, all_found = _meetings(bounds, bounds, reach_nm, 2 * most + len(areas))
    later, earlier = np.array([later, earlier])[:, later > earlier]
    order = np.lexsort((earlier, later))
    return later[order], earlier[order], all_found


def near_each(
    asked: Sequence[Straight], things: Sequence[Straight], reach_nm: int, what: str
) -> list[list[int]]:
    """Return, for each that is asked, which things may be within reach of it, in order.

    Errors: InvalidRequestError at `what` where there are more than can be looked at.
    Limits: some that are up to a reach further away are included.
    """
    found: list[list[int]] = [[] for _ in asked]
    if asked and things:
        one, other, all_found = _meetings(_bounds(asked), _bounds(things), reach_nm, MOST_MEETINGS)
        if not all_found:
            problem = "Too many for one request with this outline."
            remedy = "Remove duplicates, or split the job into several requests."
            raise InvalidRequestError([Fault(path=(what,), problem=problem, remedy=remedy)])
        for number, thing in zip(one.tolist(), other.tolist(), strict=True):
            found[number].append(thing)
    return [sorted(near) for near in found]


def _bounds(straights: Sequence[Straight]) -> Numbers:
    ends = np.array(straights, dtype=float)
    return np.hstack([ends.min(axis=1), ends.max(axis=1)])


def _meetings(
    asked: Numbers, things: Numbers, reach_nm: float, most: int
) -> tuple[Indices, Indices, bool]:
    """Return which of some bounds are within reach of which others, and if all are."""
    tree = shapely.STRtree(shapely.box(*things.T))
    around = shapely.box(*(asked + reach_nm * np.array([-1, -1, 1, 1])).T)
    found: list[Indices] = [np.empty((2, 0), dtype=np.int64)]
    hits = start = 0
    while start < len(around) and hits <= most:
        found.append(tree.query(around[start : start + _AT_ONCE]) + np.array([[start], [0]]))
        hits += found[-1].shape[1]
        start += _AT_ONCE
    one, other = np.concatenate(found, axis=1)
    return one, other, hits <= most
