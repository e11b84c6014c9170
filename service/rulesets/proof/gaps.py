"""Gaps: inputs that no row covers."""

from __future__ import annotations

import msgspec

from service.rulesets.proof.boxes import Cells, widened
from service.rulesets.proof.grid import Grid
from service.rulesets.proof.search import Purse
from service.rulesets.tables.lookup import CompiledTable


class Gaps(msgspec.Struct, frozen=True, kw_only=True):
    """Boxes that no row meets, no two sharing a point; `more`: there are others.

    `cover` are boxes of the grid, gaps among them, that cover all; 0 when there are more, or when
    the search was too `tangled` to tell.
    """

    boxes: tuple[Cells, ...]
    more: bool = False
    tangled: bool = False
    cover: int = 0


def find_gaps(table: CompiledTable, grid: Grid, most: int, purse: Purse) -> Gaps:
    """Return up to `most` gaps; each is added to the grid, so that the next lies outside it."""
    boxes: list[Cells] = []
    covering = _meetable(table)
    while True:
        found = grid.uncovered(purse, covering, grid.whole, locate=True)
        if found is None:
            return Gaps(boxes=tuple(boxes), tangled=True)
        if isinstance(found, int):
            return Gaps(boxes=tuple(boxes), cover=found)
        if len(boxes) == most:
            return Gaps(boxes=tuple(boxes), more=True)
        boxes.append(widened(table.columns, grid.masks, found, covering))
        covering |= grid.add(boxes[-1])


def _meetable(table: CompiledTable) -> int:
    """Return the rows without an empty condition; the others keep nothing from being a gap."""
    rows = range(len(table.rows))
    return sum(1 << row for row in rows if all(column.sides[row] for column in table.columns))
