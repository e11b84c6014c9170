"""Findings of a proof, each told as a sentence with its counter-example."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import msgspec

from service.rulesets.proof.boxes import Cells, box_of
from service.rulesets.proof.dead import Dead
from service.rulesets.proof.split import numbers
from service.rulesets.tables.lookup import CompiledTable
from service.rulesets.tables.model import Box, HitPolicy
from service.rulesets.tables.words import join, tell_box, tell_rows

SIMPLER = "split the table, or let its rows name fewer dimensions"


class Kind(StrEnum):
    """What a finding is about."""

    GAP = "gap"
    OVERLAP = "overlap"
    DEAD_ROW = "dead row"
    UNDECIDED = "undecided"


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that is wrong with a table, with a counter-example.

    `rows` are those it is about, `by` those that cover a dead row. `box` is the gap, or what two
    rows share, or what a dead row asks for; a dimension that it does not name may take any value.
    """

    kind: Kind
    text: str
    rows: tuple[str, ...] = ()
    by: tuple[str, ...] = ()
    box: Box | None = None


def gap(table: CompiledTable, cells: Cells) -> Finding:
    """Return the finding of a gap."""
    box = box_of(table.columns, cells)
    told = tell_box(table.table.dimensions, box) or "any input"
    return Finding(kind=Kind.GAP, text=f"no row covers {told}", box=box)


def overlap(table: CompiledTable, one: int, other: int) -> Finding:
    """Return the finding of two rows that match together, with all that both match."""
    box = box_of(
        table.columns, tuple(column.sides[one] & column.sides[other] for column in table.columns)
    )
    ids = (table.rows[one].id, table.rows[other].id)
    told = tell_box(table.table.dimensions, box) or "every input"
    text = f"{tell_rows(ids)} both match {told}"
    return Finding(kind=Kind.OVERLAP, text=text, rows=ids, box=box)


def dead_row(table: CompiledTable, dead: Dead) -> Finding:
    """Return the finding of a row that never decides."""
    row = table.rows[dead.row]
    by = tuple(table.rows[number].id for number in numbers(dead.by))
    why = _covered(table.table.policy, by) if by else _empty(table, dead)
    text = f"row {row.id} never decides: {why}"
    return Finding(kind=Kind.DEAD_ROW, text=text, rows=(row.id,), by=by, box=row.when)


def undecided_gaps(found: int) -> Finding:
    """Return the finding that the search for gaps gave up after so many."""
    what = "that there are no more gaps" if found else "that every input is covered"
    return Finding(kind=Kind.UNDECIDED, text=f"too tangled to prove {what}: {SIMPLER}")


def undecided_rows(table: CompiledTable, rows: Sequence[int]) -> Finding:
    """Return the finding that rows could not be judged."""
    ids = tuple(table.rows[row].id for row in rows)
    verb = "decides" if len(ids) == 1 else "decide"
    text = f"too tangled to prove that {tell_rows(ids)} ever {verb}: {SIMPLER}"
    return Finding(kind=Kind.UNDECIDED, text=text, rows=ids)


def _covered(policy: HitPolicy, by: Sequence[str]) -> str:
    if policy is HitPolicy.PRIORITY:
        return f"{tell_rows(by)} {'goes' if len(by) == 1 else 'go'} before it wherever it matches"
    return f"{tell_rows(by)} {'covers' if len(by) == 1 else 'cover'} it"


def _empty(table: CompiledTable, dead: Dead) -> str:
    names = [table.columns[place].name for place in dead.empty]
    return f"nothing meets its condition on {join(names, 'or')}"
