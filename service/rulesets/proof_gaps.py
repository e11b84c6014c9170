"""Gaps: inputs that no row covers."""

from __future__ import annotations

import msgspec

from service.rulesets.proof_boxes import Cells, search_columns, widened
from service.rulesets.proof_search import Purse
from service.rulesets.tables import CompiledTable


class Gaps(msgspec.Struct, frozen=True, kw_only=True):
    """Boxes that no row meets, no two sharing a point; `more`: there are others.

    `tangled`: the search gave up before it knew whether there are others.
    """

    boxes: tuple[Cells, ...]
    more: bool
    tangled: bool


def find_gaps(table: CompiledTable, most: int, purse: Purse) -> Gaps:
    """Return up to `most` gaps; each is taken for a row in the search for the next."""
    masks = [list(column.masks) for column in table.columns]
    sides = [list(column.sides) for column in table.columns]
    whole = tuple(column.whole for column in table.columns)
    boxes: list[Cells] = []
    while True:
        rows = (1 << len(table.rows) + len(boxes)) - 1
        point = purse.ask(sides, search_columns(masks, whole, rows), rows)
        if not isinstance(point, dict):
            return Gaps(boxes=tuple(boxes), more=False, tangled=point is None)
        if len(boxes) == most:
            return Gaps(boxes=tuple(boxes), more=True, tangled=False)
        box = widened(table.columns, masks, point, rows)
        _add(masks, sides, box, rows + 1)
        boxes.append(box)


def _add(masks: list[list[int]], sides: list[list[int]], box: Cells, row: int) -> None:
    for own, rows, side in zip(masks, sides, box, strict=True):
        rows.append(side)
        own[:] = [mask | row if side >> cell & 1 else mask for cell, mask in enumerate(own)]
