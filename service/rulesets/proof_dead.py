"""Dead rows: rows that can never decide.

Where one row decides, it is the first that matches in order of precedence. A row is dead when the
rows before it together cover it, or when one of its conditions holds nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.rulesets.proof_boxes import earlier_meeting, search_columns
from service.rulesets.proof_columns import Columns
from service.rulesets.proof_search import Purse
from service.rulesets.tables import CompiledTable

TRIMMING = 2_000


class Dead(msgspec.Struct, frozen=True, kw_only=True):
    """A dead row: the set of rows that cover it, or the dimensions where its condition is empty."""

    row: int
    by: int = 0
    empty: tuple[int, ...] = ()


def find_empty(table: CompiledTable) -> list[Dead]:
    """Return the rows with a condition that no value meets."""
    empties = (
        (row, tuple(place for place, column in enumerate(table.columns) if not column.sides[row]))
        for row in range(len(table.rows))
    )
    return [Dead(row=row, empty=empty) for row, empty in empties if empty]


def find_covered(table: CompiledTable, purse: Purse) -> tuple[list[Dead], list[int]]:
    """Return the rows that earlier ones cover, and those too tangled to tell."""
    sides = [column.sides for column in table.columns]
    masks = [column.masks for column in table.columns]
    spare = purse.left // 10
    dead: list[Dead] = []
    tangled: list[int] = []
    for row in range(len(table.rows)):
        if not (rivals := earlier_meeting(sides, row)):
            continue
        columns = search_columns(masks, tuple(side[row] for side in sides), rivals)
        found = purse.ask(sides, columns, rivals, locate=False)
        if found is None:
            tangled.append(row)
        elif isinstance(found, int):
            by, spent = _trimmed(sides, columns, found, min(spare, TRIMMING))
            spare -= spent
            dead.append(Dead(row=row, by=by))
    return dead, tangled


def _trimmed(
    sides: Sequence[Sequence[int]], columns: Columns, by: int, allowance: int
) -> tuple[int, int]:
    """Leave out covering rows that are not needed, the last first, as far as the work allows.

    Return the rows that are left, and the work spent.
    """
    purse = Purse(total=allowance, share=allowance)
    for row in reversed(range(by.bit_length())):
        fewer = by & ~(1 << row)
        if fewer and fewer != by:
            found = purse.ask(sides, columns, fewer, locate=False)
            by = found if isinstance(found, int) else by
    return by, allowance - purse.left
