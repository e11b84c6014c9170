"""A table cut into cells: on each dimension, pieces within which no row changes its mind.

Rows and cells are numbered and a set of them is an integer, one bit each: `masks` gives the rows
that a cell's values satisfy, `sides` the cells that satisfy a row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import msgspec

from service.rulesets.tables.model import Choice, Condition, Dimension, Flag, Range, Row, Span
from service.rulesets.tables.spans import cut_span, span_finder


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """One dimension in cells.

    `rows_of` gives the rows that a value satisfies, None for a value outside the domain. `cuts` are
    the thresholds inside a span.
    """

    dimension: Dimension
    name: str
    masks: tuple[int, ...]
    sides: tuple[int, ...]
    rows_of: Callable[[object], int | None]
    cuts: tuple[int, ...] = ()

    @property
    def whole(self) -> int:
        """Return the set of all cells."""
        return (1 << len(self.masks)) - 1


def column_of(dimension: Dimension, rows: Sequence[Row]) -> Column:
    """Return a dimension cut into cells by the conditions of the rows."""
    conditions = [row.when.get(dimension.name) for row in rows]
    if isinstance(dimension, Span):
        return _span_column(dimension, conditions)
    options, kind = (
        (dimension.options, str) if isinstance(dimension, Choice) else ((False, True), bool)
    )
    sides = [_listed_side(condition, options) for condition in conditions]
    masks = _masks(sides, len(options))
    return Column(
        dimension=dimension,
        name=dimension.name,
        masks=masks,
        sides=tuple(sides),
        rows_of=_finder(kind, dict(zip(options, masks, strict=True))),
    )


def condition_of(column: Column, cells: int) -> Condition:
    """Return the condition that exactly these cells meet; of a flag they must be one state."""
    dimension = column.dimension
    if isinstance(dimension, Flag):
        return bool(cells >> 1)
    if isinstance(dimension, Choice):
        return frozenset(name for cell, name in enumerate(dimension.options) if cells >> cell & 1)
    edges = (dimension.least, *column.cuts, dimension.below)
    return tuple(Range(least=edges[start], below=edges[end]) for start, end in runs(cells))


def runs(cells: int) -> Iterator[tuple[int, int]]:
    """Yield each run of neighbouring cells as (first, first after)."""
    while cells:
        start = (cells & -cells).bit_length() - 1
        gaps = ~(cells >> start)
        end = start + (gaps & -gaps).bit_length() - 1
        yield start, end
        cells = cells >> end << end


def _listed_side(condition: Condition | None, options: Sequence[str | bool]) -> int:
    if condition is None:
        return (1 << len(options)) - 1
    if isinstance(condition, bool):
        return 2 if condition else 1
    return sum(1 << cell for cell, name in enumerate(options) if name in condition)


def _finder(kind: type[str | bool], rows: Mapping[object, int]) -> Callable[[object], int | None]:
    """Return a lookup of the rows; the kind is checked because 1 and true are equal as keys."""
    return lambda value: rows.get(value) if isinstance(value, kind) else None


def _span_column(span: Span, conditions: Sequence[Condition | None]) -> Column:
    edges, spreads = cut_span(span, [_ranges(condition) for condition in conditions])
    place = {edge: cell for cell, edge in enumerate(edges)}
    sides = [
        sum((1 << place[below]) - (1 << place[least]) for least, below in ranges)
        for ranges in spreads
    ]
    cuts = tuple(edges[1:-1])
    masks = _masks(sides, len(cuts) + 1)
    return Column(
        dimension=span,
        name=span.name,
        masks=masks,
        sides=tuple(sides),
        rows_of=span_finder(span, cuts, masks),
        cuts=cuts,
    )


def _ranges(condition: Condition | None) -> tuple[Range, ...]:
    return condition if isinstance(condition, tuple) else (Range(),)


def _masks(sides: Sequence[int], cells: int) -> tuple[int, ...]:
    """Return the rows of each cell, from where the runs of each row begin and end."""
    turns = [0] * (cells + 1)
    for row, side in enumerate(sides):
        for start, end in runs(side):
            turns[start] ^= 1 << row
            turns[end] ^= 1 << row
    masks, rows = [], 0
    for turn in turns[:-1]:
        rows ^= turn
        masks.append(rows)
    return tuple(masks)
