"""Proof that a decision table answers every input, and that each of its rows is of use.

Exact: the table is cut into a grid of every combination of values that its rows distinguish,
and every cell is looked at, so nothing is left to sampling.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from math import prod
from typing import Any, Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from gapwright.rulesets.tables import (
    Box,
    Condition,
    Dimension,
    HitPolicy,
    Range,
    Row,
    Table,
    describe_box,
    describe_rows,
    join,
    meets,
)

MAX_CELLS = 2_000_000
MAX_ROWS = 1_000
MAX_ROW_CELLS = 100_000_000
"""Cells of a grid, rows, and cells times rows that are looked at; a larger table is refused."""
MAX_GAPS = 10
MAX_OVERLAPS = 100

Cells = NDArray[np.bool_]
"""Cells of one axis, or of a whole grid."""


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that is wrong with a table, with a counter-example.

    `rows` are those it is about, `by` those that cover a dead row. `box` is the gap, or what two
    rows share, or what a dead row asks for; a dimension that it does not name may take any value.
    """

    kind: Literal["gap", "overlap", "dead row", "too large", "more"]
    text: str
    rows: tuple[str, ...] = ()
    by: tuple[str, ...] = ()
    box: Box | None = None


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    """One dimension cut into cells: one for each option, or one between each two thresholds."""

    dimension: Dimension
    size: int
    rows: Cells
    """Which rows, in order of precedence, match which cells."""
    cuts: tuple[int, ...]
    """The thresholds that rows name; cell n ends below cut n."""

    def condition(self, cells: Cells) -> Condition:
        """Return the condition that exactly these cells meet; of numbers they must be one range."""
        places = np.flatnonzero(cells).tolist()
        if self.dimension.options:
            return frozenset(self.dimension.options[place] for place in places)
        sides = (None, *self.cuts, None)
        return Range(least=sides[places[0]], below=sides[places[-1] + 1])


def axes_of(table: Table) -> list[Axis]:
    """Return the axes of a table, in the order of its dimensions."""
    return [_axis(dimension, table.ranked) for dimension in table.dimensions]


def deciding(axes: Sequence[Axis], rows: int) -> NDArray[np.int32]:
    """Return the first row that matches each cell of the grid, -1 where none does."""
    first = np.full([axis.size for axis in axes], -1, dtype=np.int32)
    left = np.ones(first.shape, dtype=bool)
    for row in range(rows):
        found = _matched(axes, row) & left
        first[found] = row
        left ^= found
    return first


def _matched(axes: Sequence[Axis], row: int) -> Cells:
    """Return the cells of the grid that a row matches."""
    return reduce(np.logical_and.outer, (axis.rows[row] for axis in axes), np.array(True))


def _box_of(axes: Sequence[Axis], cells: Sequence[Cells]) -> Box:
    """Return a box in the terms of the table; a dimension that it leaves whole is not named."""
    return {
        axis.dimension.name: axis.condition(side)
        for axis, side in zip(axes, cells, strict=True)
        if not side.all()
    }


def _axis(dimension: Dimension, rows: Sequence[Row]) -> Axis:
    cuts = _cuts(dimension, rows)
    values: tuple[Any, ...] = dimension.options or (0, *cuts)  # one of each cell
    sides = [
        [dimension.name not in row.when or meets(one, row.when[dimension.name]) for one in values]
        for row in rows
    ]
    matrix = np.array(sides, dtype=bool).reshape(len(rows), len(values))
    return Axis(dimension=dimension, size=len(values), rows=matrix, cuts=cuts)


def _cuts(dimension: Dimension, rows: Sequence[Row]) -> tuple[int, ...]:
    """Return the thresholds above zero that rows name, rising; none for a list of options."""
    named: set[int] = set()
    for row in rows:
        condition = row.when.get(dimension.name)
        if isinstance(condition, Range):
            named |= {end for end in (condition.least, condition.below) if end and end > 0}
    return tuple(sorted(named))


def prove(table: Table) -> list[Finding]:
    """Return gaps, overlaps and dead rows of a table, each with a counter-example.

    A gap is a part of the input space that no row matches, under every policy; gaps share no input.
    An overlap is a pair of rows that both match an input, sought under UNIQUE. A dead row never
    decides: under FIRST and PRIORITY at each input it matches another row comes before it in order
    of precedence; under every policy, no value meets one of its conditions.
    Limits: a table beyond the limits above has that as its one finding.
    """
    if text := _too_large(table):
        return [Finding(kind="too large", text=text)]
    axes, rows = axes_of(table), table.ranked
    first = deciding(axes, len(rows))
    gaps = list(_gaps(axes, np.asarray(first < 0)))
    overlaps = _overlaps(axes, len(rows)) if table.policy is HitPolicy.UNIQUE else []
    dead = list(_empty_rows(rows, axes))
    if table.policy in (HitPolicy.FIRST, HitPolicy.PRIORITY):
        dead += _covered_rows(table, axes, first)
    place = {row.id: number for number, row in enumerate(table.rows)}
    findings = [
        *(_gap(table, axes, box) for box in gaps[:MAX_GAPS]),
        *(_overlap(table, axes, *pair) for pair in overlaps[:MAX_OVERLAPS]),
        *sorted(dead, key=lambda finding: place[finding.rows[0]]),
    ]
    if len(gaps) > MAX_GAPS or len(overlaps) > MAX_OVERLAPS:
        findings.append(Finding(kind="more", text="There are more findings"))
    return findings


def _too_large(table: Table) -> str:
    """Return why a table is too large to be looked at, nothing where it is not."""
    rows = len(table.rows)
    sizes = (len(d.options or (0, *_cuts(d, table.rows))) for d in table.dimensions)
    cells = prod(sizes)
    if rows > MAX_ROWS:
        return f"the table has {rows:,} rows; at most {MAX_ROWS:,} are checked"
    if cells > MAX_CELLS:
        return f"its conditions make {cells:,} combinations; at most {MAX_CELLS:,} are checked"
    if cells * rows > MAX_ROW_CELLS:
        most = MAX_ROW_CELLS // cells
        return f"its conditions make {cells:,} combinations; of these, {most} rows are checked"
    return ""


def _gaps(axes: Sequence[Axis], open_cells: Cells) -> Iterator[list[Cells]]:
    """Yield boxes of open cells that share none, up to one more than are reported."""
    for _ in range(MAX_GAPS + 1):
        if not open_cells.any():
            return
        point = np.unravel_index(int(np.argmax(open_cells)), open_cells.shape)
        box = _widened(axes, open_cells, [int(cell) for cell in point])
        yield box
        open_cells[np.ix_(*box)] = False


def _widened(axes: Sequence[Axis], open_cells: Cells, point: Sequence[int]) -> list[Cells]:
    """Return a box of open cells around a point that cannot grow on any dimension.

    Dimensions that keep fewest rows away from the point are freed first, so that few are named; on
    the others the box grows cell by cell. A side of a span stays one range.
    """
    box: list[Cells] = [
        np.arange(axis.size) == cell for axis, cell in zip(axes, point, strict=True)
    ]

    def grow(place: int, added: Cells) -> bool:
        fits = bool(open_cells[np.ix_(*box[:place], added, *box[place + 1 :])].all())
        if fits:
            box[place] = box[place] | added
        return fits

    away = [int((~axis.rows[:, cell]).sum()) for axis, cell in zip(axes, point, strict=True)]
    order = sorted(range(len(axes)), key=lambda place: (away[place], place))
    named = [place for place in order if not grow(place, np.ones(axes[place].size, dtype=bool))]
    for place in sorted(named):
        cell, size = point[place], axes[place].size
        for cells in (range(cell - 1, -1, -1), range(cell + 1, size)):
            for other in cells:
                grown = grow(place, np.arange(size) == other)
                if not grown and not axes[place].dimension.options:
                    break
    return box


def _gap(table: Table, axes: Sequence[Axis], cells: Sequence[Cells]) -> Finding:
    box = _box_of(axes, cells)
    text = f"no row covers {describe_box(table.dimensions, box) or 'any input'}"
    return Finding(kind="gap", text=text, box=box)


def _overlaps(axes: Sequence[Axis], rows: int) -> list[tuple[int, int]]:
    """Return the pairs of rows that share an input, the earlier row first, in row order."""
    pairs: list[tuple[int, int]] = []
    for one in range(rows):
        meet = np.arange(rows) > one
        for axis in axes:
            meet &= (axis.rows & axis.rows[one]).any(axis=1)
        pairs += [(one, int(other)) for other in np.flatnonzero(meet)]
    return pairs


def _overlap(table: Table, axes: Sequence[Axis], one: int, other: int) -> Finding:
    box = _box_of(axes, [axis.rows[one] & axis.rows[other] for axis in axes])
    ids = (table.ranked[one].id, table.ranked[other].id)
    shared = describe_box(table.dimensions, box) or "every input"
    text = f"{describe_rows(ids)} both match {shared}"
    return Finding(kind="overlap", text=text, rows=ids, box=box)


def _empty_rows(rows: Sequence[Row], axes: Sequence[Axis]) -> Iterator[Finding]:
    """Yield the rows with a condition that nothing meets."""
    for number, row in enumerate(rows):
        empty = [axis.dimension.name for axis in axes if not axis.rows[number].any()]
        if empty:
            yield _dead_row(row, f"nothing meets its condition on {join(empty, 'or')}")


def _covered_rows(table: Table, axes: Sequence[Axis], first: np.ndarray) -> Iterator[Finding]:
    """Yield the rows that earlier ones cover."""
    alive, rows = set(np.unique(first).tolist()), table.ranked
    for number, row in enumerate(rows):
        own = _matched(axes, number)
        if number in alive or not own.any():
            continue
        by = _covering(axes, own, first[own])
        ids = tuple(rows[each].id for each in by)
        if table.policy is HitPolicy.PRIORITY:
            verb = "takes" if len(by) == 1 else "take"
            why = f"{describe_rows(ids)} {verb} precedence wherever it matches"
        else:
            why = f"{describe_rows(ids)} {'covers' if len(by) == 1 else 'cover'} it"
        yield _dead_row(row, why, ids)


def _covering(axes: Sequence[Axis], own: Cells, deciders: np.ndarray) -> list[int]:
    """Return rows that cover the cells `own` together, none of which can be left out."""
    rows: list[int] = np.unique(deciders).tolist()
    times = np.zeros(len(deciders), dtype=np.int32)
    for row in rows:
        times += _matched(axes, row)[own]
    for row in reversed(rows.copy()):
        cells = _matched(axes, row)[own]
        if (times[cells] > 1).all():
            times -= cells
            rows.remove(row)
    return rows


def _dead_row(row: Row, why: str, by: tuple[str, ...] = ()) -> Finding:
    text = f"row {row.id} never applies: {why}"
    return Finding(kind="dead row", text=text, rows=(row.id,), by=by, box=row.when)
