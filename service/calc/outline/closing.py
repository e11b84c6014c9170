"""Closing the narrow gaps of an area, exactly and without moving its outer edges."""

from __future__ import annotations

from typing import NamedTuple

from service.calc.outline.edges import BELOW, Rect, Region, changed
from service.calc.outline.sweep import Pair, box, facing, width


class Closed(NamedTuple):
    """An area after its narrow gaps were closed.

    `filled` are the boxes that were added; `narrow` the facing pairs still within reach, across
    (between upright runs) and up (between level runs).
    """

    region: Region
    filled: list[Rect]
    narrow: tuple[list[Pair], list[Pair]]


def closed(region: Region, gap: int, reach: int) -> Closed:
    """Close every gap that measures at most `gap` straight across or straight up.

    Gaps are filled until none is left, so the crossing of four gaps closes as well, no corner
    is invented and no outer edge moves. Facing pairs up to `reach` apart that stay are listed.
    Errors: OverlapError where the area covers some place twice.
    """
    filled: list[Rect] = []
    narrow: list[list[Pair]] = [[], []]
    axis, quiet = 0, 0
    while quiet < 2:
        narrow[axis] = facing(region[axis], BELOW, max(gap, reach))
        boxes = [box(pair, axis) for pair in narrow[axis] if width(pair) <= gap]
        if boxes:
            filled += boxes
            region = changed(region, boxes, 1)
        quiet = 0 if boxes else quiet + 1
        axis = 1 - axis
    return Closed(region, filled, (narrow[0], narrow[1]))
