"""Areas with upright and level edges only, kept as the runs of their boundary: exact, in integers.

A run is (line, low, high, side): it lies at `line` on one axis and goes from `low` to `high` on
the other; side is +1 where the material lies below the line and -1 where it lies above.
Adding areas that do not overlap is adding their runs: what two neighbours share cancels.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import NamedTuple

Run = tuple[int, int, int, int]
Rect = tuple[int, int, int, int]
Ring = tuple[tuple[int, int], ...]

BELOW, ABOVE = 1, -1


class OverlapError(Exception):
    """Two areas cover the same place; which ones is for the caller to find out."""


class Region(NamedTuple):
    """An area: its upright runs (line is x) and its level runs (line is y)."""

    upright: list[Run]
    level: list[Run]


def region_of(rects: Iterable[Rect], rings: Iterable[Ring] = ()) -> Region:
    """Return the area of boxes (left, lower, right, upper) and rings.

    Limits: every ring has its material on the left.
    Errors: OverlapError where some line is covered twice; outline_sweep finds all other overlaps.
    """
    upright: list[Run] = []
    level: list[Run] = []
    for rect in rects:
        _add_rect(rect, 1, upright, level)
    for ring in rings:
        _add_ring(ring, upright, level)
    return Region(_cancelled(upright), _cancelled(level))


def changed(region: Region, boxes: Iterable[Rect], sign: int) -> Region:
    """Return the region with boxes added beside it (sign 1) or taken out of it (-1)."""
    upright, level = list(region.upright), list(region.level)
    for rect in boxes:
        _add_rect(rect, sign, upright, level)
    return Region(_cancelled(upright), _cancelled(level))


def _add_rect(rect: Rect, sign: int, upright: list[Run], level: list[Run]) -> None:
    left, lower, right, upper = rect
    upright += ((right, lower, upper, sign), (left, lower, upper, -sign))
    level += ((upper, left, right, sign), (lower, left, right, -sign))


def _add_ring(ring: Ring, upright: list[Run], level: list[Run]) -> None:
    for (x, y), (next_x, next_y) in zip(ring, ring[1:] + ring[:1], strict=True):
        if x == next_x:
            upright.append((x, min(y, next_y), max(y, next_y), BELOW if next_y > y else ABOVE))
        else:
            level.append((y, min(x, next_x), max(x, next_x), BELOW if next_x < x else ABOVE))


def _cancelled(runs: Iterable[Run]) -> list[Run]:
    """Return the longest runs that are left when opposite ones have cancelled."""
    lines: dict[int, list[Run]] = defaultdict(list)
    for run in runs:
        lines[run[0]].append(run)
    left: list[Run] = []
    for line, members in lines.items():
        left += members if len(members) == 1 else _summed(line, members)
    return left


def _summed(line: int, runs: Iterable[Run]) -> Iterator[Run]:
    steps: dict[int, int] = defaultdict(int)
    for _, low, high, side in runs:
        steps[low] += side
        steps[high] -= side
    depth = start = 0
    for at in sorted(steps):
        if step := steps[at]:
            if depth:
                yield line, start, at, depth
            depth, start = depth + step, at
            if not -1 <= depth <= 1:
                raise OverlapError
