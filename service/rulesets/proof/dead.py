"""Dead rows: rows that can never decide.

Where one row decides, it is the first that matches in order of precedence. A row is dead when the
rows before it together cover it, or when nothing meets one of its conditions.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.rulesets.proof.boxes import earlier_meeting
from service.rulesets.proof.grid import Grid
from service.rulesets.proof.search import Purse
from service.rulesets.proof.split import numbers
from service.rulesets.tables.lookup import CompiledTable

REFINING = 20
TRIMMING = 2_000


class Dead(msgspec.Struct, frozen=True, kw_only=True):
    """A dead row: the set of rows that cover it, or the dimensions where its condition is empty.

    `tangled`: it was too much work to find out whether it is dead.
    """

    row: int
    by: int = 0
    empty: tuple[int, ...] = ()
    tangled: bool = False


def find_empty(table: CompiledTable) -> Iterator[Dead]:
    """Yield the rows with a condition that nothing meets."""
    for row in range(len(table.rows)):
        places = enumerate(table.columns)
        if empty := tuple(place for place, column in places if not column.sides[row]):
            yield Dead(row=row, empty=empty)


def find_covered(table: CompiledTable, grid: Grid, cover: int, purse: Purse) -> Iterator[Dead]:
    """Yield the rows that earlier ones cover, and those too tangled to tell.

    `cover` are boxes of the grid, gaps among them, that cover all; 0 if none are known. Once the
    rows up to some row are such a cover, every later row is dead: it meets no gap. Looking for that
    row, and for fewer rows that cover a dead one, may take a twentieth of the purse besides.
    """
    rows = len(table.rows)
    spare = Purse(total=purse.left // REFINING, share=purse.left // REFINING)
    cover = _earliest(grid, cover, rows, spare)
    spare.share = TRIMMING
    for row in range(rows):
        rivals = earlier_meeting(grid.sides, row)
        known = cover & rivals if row >= _length(cover, rows) else 0
        by = _one(grid, row, rivals) or known or _covering(grid, row, rivals, purse)
        if by is None:
            yield Dead(row=row, tangled=True)
        elif by:
            yield Dead(row=row, by=_trimmed(grid, row, by, spare))


def _one(grid: Grid, row: int, rivals: int) -> int:
    """Return the first of the rivals that covers a row by itself, 0 if none does."""
    box = grid.box(row)
    for rival in numbers(rivals):
        if all(not side & ~wider for side, wider in zip(box, grid.box(rival), strict=True)):
            return 1 << rival
    return 0


def _covering(grid: Grid, row: int, rivals: int, purse: Purse) -> int | None:
    """Return which of the rivals cover a row, 0 if they do not, None when too tangled."""
    if not rivals:
        return 0
    found = grid.uncovered(purse, rivals, grid.box(row))
    return 0 if isinstance(found, dict) else found


def _earliest(grid: Grid, cover: int, rows: int, purse: Purse) -> int:
    """Return a cover whose last row comes as early as possible, by steps that double, then halve.

    Boxes beyond the `rows` first are the gaps and stay.
    """
    gaps = cover >> rows << rows
    low, high, step = 0, _length(cover, rows), 1
    while low < high:
        tried = max(low, high - step)
        found = grid.uncovered(purse, gaps | (1 << tried) - 1, grid.whole)
        if isinstance(found, int):
            cover, high, step = found, _length(found, rows), 2 * step
        else:
            low, step = tried + 1, max(1, (high - tried) // 2)
    return cover


def _length(cover: int, rows: int) -> int:
    """Return how many rows in order of precedence a cover needs, boxes beyond `rows` left out."""
    return (cover & (1 << rows) - 1).bit_length()


def _trimmed(grid: Grid, row: int, by: int, purse: Purse) -> int:
    """Leave out covering rows that are not needed, the last first, as far as the work allows."""
    box, enough = grid.box(row), purse.left - TRIMMING
    for other in sorted(numbers(by), reverse=True):
        fewer = by & ~(1 << other)
        if fewer != by and purse.left > max(0, enough):
            found = grid.uncovered(purse, fewer, box)
            by = found if isinstance(found, int) else by
    return by
