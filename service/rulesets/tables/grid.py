"""The grid of a table: every combination of values that its rows can tell apart.

An axis is a dimension cut into cells: a choice has one for each option, a flag one for false and
one for true, a span one between each two thresholds that some row names.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from math import prod
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from service.rulesets.tables.lookup import CompiledTable
from service.rulesets.tables.model import Box, Choice, Condition, Dimension, Flag, Range, Row, Span

Cells = NDArray[np.bool_]
"""Cells of one axis, or of a whole grid."""


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    """One dimension: how many cells it has, and which of them each row matches."""

    dimension: Dimension
    size: int
    rows: Cells
    """By row, in order of precedence, and cell."""
    cuts: tuple[int, ...] = ()
    """The thresholds inside a span; cell n ends below cut n."""

    def condition(self, cells: Cells) -> Condition:
        """Return the condition that exactly these cells meet; of a flag they must be one state."""
        if isinstance(self.dimension, Flag):
            return bool(cells[1])
        if isinstance(self.dimension, Choice):
            return frozenset(np.array(self.dimension.options, dtype=object)[cells])
        edges = (self.dimension.least, *self.cuts, self.dimension.below)
        turns = np.flatnonzero(np.diff(cells, prepend=False, append=False))
        starts, ends = turns[::2], turns[1::2]
        return tuple(
            Range(least=edges[start], below=edges[end])
            for start, end in zip(starts, ends, strict=True)
        )


def axes_of(table: CompiledTable) -> list[Axis]:
    """Return the axes of a table, in the order of its dimensions."""
    return [_axis(dimension, table.rows) for dimension in table.table.dimensions]


def cell_count(table: CompiledTable) -> int:
    """Return how many cells the grid of a table has, without building it."""
    return prod(len(_values(dimension, table.rows)) for dimension in table.table.dimensions)


def matched(axes: Sequence[Axis], row: int) -> Cells:
    """Return the cells of the grid that a row matches."""
    return reduce(np.logical_and.outer, (axis.rows[row] for axis in axes), np.array(True))


def deciding(axes: Sequence[Axis], rows: int) -> NDArray[np.int32]:
    """Return the first of so many rows that matches each cell of the grid, -1 where none does."""
    first = np.full([axis.size for axis in axes], -1, dtype=np.int32)
    left = np.ones(first.shape, dtype=bool)
    for row in range(rows):
        found = matched(axes, row) & left
        first[found] = row
        left ^= found
    return first


def box_of(axes: Sequence[Axis], cells: Sequence[Cells]) -> Box:
    """Return a box in the terms of the table; a dimension that it leaves whole is not named."""
    return {
        axis.dimension.name: axis.condition(side)
        for axis, side in zip(axes, cells, strict=True)
        if not side.all()
    }


def _axis(dimension: Dimension, rows: Sequence[Row]) -> Axis:
    values = np.array(_values(dimension, rows))
    sides = np.ones((len(rows), len(values)), dtype=bool)
    for side, row in zip(sides, rows, strict=True):
        if dimension.name in row.when:
            side[:] = _met(values, row.when[dimension.name])
    cuts = tuple(_cuts(dimension, rows))
    return Axis(dimension=dimension, size=len(values), rows=sides, cuts=cuts)


def _met(values: NDArray[Any], condition: Condition) -> Cells:
    """Return which of an axis's values meet a condition."""
    met = np.zeros(len(values), dtype=bool)
    if not isinstance(condition, tuple):
        met |= np.isin(values, [condition] if isinstance(condition, bool) else list(condition))
        return met
    for part in condition:
        from_least = True if part.least is None else values >= part.least
        met |= from_least & (True if part.below is None else values < part.below)
    return met


def _values(dimension: Dimension, rows: Sequence[Row]) -> list[Any]:
    """Return one value of each cell: of a span the least, or one before all cuts."""
    if isinstance(dimension, Choice):
        return list(dimension.options)
    if isinstance(dimension, Flag):
        return [False, True]
    cuts = _cuts(dimension, rows)
    if dimension.least is not None:
        return [dimension.least, *cuts]
    after = [*cuts, dimension.below or 0]
    return [after[0] - 1, *cuts]


def _cuts(dimension: Dimension, rows: Sequence[Row]) -> list[int]:
    """Return the thresholds that rows name inside a span, rising."""
    if not isinstance(dimension, Span):
        return []
    least, below = dimension.least, dimension.below
    named: set[int] = set()
    for row in rows:
        condition = row.when.get(dimension.name)
        for part in condition if isinstance(condition, tuple) else ():
            named |= {end for end in (part.least, part.below) if end is not None}
    return sorted(
        cut for cut in named if (least is None or least < cut) and (below is None or cut < below)
    )
