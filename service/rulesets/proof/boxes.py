"""Boxes of cells: rows that meet in them, points widened to them.

A box has a set of cells for each dimension, in the order of the table's columns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from operator import or_

from service.rulesets.tables.cells import Column, condition_of
from service.rulesets.tables.model import Box, Span

Cells = tuple[int, ...]


def box_of(columns: Sequence[Column], cells: Cells) -> Box:
    """Return a box in the terms of the table; a dimension that it leaves whole is not named."""
    return {
        column.name: condition_of(column, side)
        for column, side in zip(columns, cells, strict=True)
        if side != column.whole
    }


def earlier_meeting(sides: Sequence[Sequence[int]], row: int) -> int:
    """Return the rows before `row` that share a point with it."""
    own = [side[row] for side in sides]
    return sum(
        1 << other
        for other in range(row)
        if all(mine & side[other] for mine, side in zip(own, sides, strict=True))
    )


def widened(
    columns: Sequence[Column],
    masks: Sequence[Sequence[int]],
    point: Mapping[int, int],
    whole: int,
) -> Cells:
    """Return a box round an uncovered point that cannot grow on any dimension.

    As few dimensions as a greedy choice finds keep the rows of `whole` out; the others are left
    whole. A side of a span stays one range.
    """
    out = {place: whole & ~masks[place][cell] for place, cell in point.items()}
    named = _needed(out, whole)
    box = [column.whole for column in columns]
    for place in named:
        others = reduce(or_, (out[other] for other in named if other != place), 0)
        box[place] = _grown(columns[place], masks[place], point[place], whole & ~others)
        met = (mask for cell, mask in enumerate(masks[place]) if box[place] >> cell & 1)
        out[place] = whole & ~reduce(or_, met)
    return tuple(box)


def _needed(out: Mapping[int, int], whole: int) -> list[int]:
    """Return dimensions that together keep all rows out; those that keep few out go first."""
    named = sorted(out)
    for place in sorted(out, key=lambda place: (out[place].bit_count(), place)):
        others = [other for other in named if other != place]
        if reduce(or_, (out[other] for other in others), 0) == whole:
            named = others
    return named


def _grown(column: Column, masks: Sequence[int], cell: int, held: int) -> int:
    """Return the cells that satisfy none of the rows `held`; of a span those next to `cell`."""
    if not isinstance(column.dimension, Span):
        return sum(1 << other for other, mask in enumerate(masks) if not mask & held)
    first, after = cell, cell + 1
    while first and not masks[first - 1] & held:
        first -= 1
    while after < len(masks) and not masks[after] & held:
        after += 1
    return (1 << after) - (1 << first)
