"""Overlaps: pairs of rows that match the same input."""

from __future__ import annotations

from service.rulesets.proof.boxes import earlier_meeting
from service.rulesets.proof.split import numbers
from service.rulesets.tables.lookup import CompiledTable


def find_overlaps(table: CompiledTable) -> list[tuple[int, int]]:
    """Return the pairs of rows that share an input, the earlier row first, in row order."""
    sides = [column.sides for column in table.columns]
    return sorted(
        (other, row)
        for row in range(len(table.rows))
        for other in numbers(earlier_meeting(sides, row))
    )
