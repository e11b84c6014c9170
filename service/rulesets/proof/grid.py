"""The cells of a table with the boxes that cover them: its rows, then whatever is added."""

from __future__ import annotations

from service.rulesets.proof.boxes import Cells
from service.rulesets.proof.columns import Columns
from service.rulesets.proof.search import Point, Purse
from service.rulesets.tables.lookup import CompiledTable


class Grid:
    """Cells and covering boxes, to be asked what is uncovered.

    `masks[dimension][cell]` are the boxes that the cell is in, `sides[dimension][box]` the cells
    that the box has. `whole` is the box of all cells.
    """

    def __init__(self, table: CompiledTable) -> None:
        self.masks = [list(column.masks) for column in table.columns]
        self.sides = [list(column.sides) for column in table.columns]
        self.whole = tuple(column.whole for column in table.columns)
        self._boxes = len(table.rows)

    def add(self, box: Cells) -> int:
        """Add a covering box and return its bit."""
        added = 1 << self._boxes
        self._boxes += 1
        for masks, sides, side in zip(self.masks, self.sides, box, strict=True):
            sides.append(side)
            masks[:] = [mask | added if side >> n & 1 else mask for n, mask in enumerate(masks)]
        return added

    def box(self, row: int) -> Cells:
        """Return the cells of a row."""
        return tuple(sides[row] for sides in self.sides)

    def uncovered(
        self, purse: Purse, covering: int, inside: Cells, locate: bool = False
    ) -> Point | int | None:
        """Return a point inside a box that none of the `covering` boxes covers.

        Or else which of them cover it all; or None when that is too tangled. A point may be empty
        with `locate` off.
        """
        return purse.ask(self.sides, self._columns(inside, covering), covering, locate)

    def _columns(self, inside: Cells, covering: int) -> Columns:
        columns: Columns = {}
        for place, (side, masks) in enumerate(zip(inside, self.masks, strict=True)):
            column = columns.setdefault(place, {})
            for cell, mask in enumerate(masks):
                if side >> cell & 1:
                    column.setdefault(mask & covering, cell)
        return columns
