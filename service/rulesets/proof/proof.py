"""Proof that a decision table answers every input, and that each of its rows is of use.

Exact: each dimension is cut at all that its rows distinguish, and the combinations are settled by
logic, none by sampling. A question that would take too much work is reported as undecided.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.rulesets.proof.dead import Dead, find_covered, find_empty
from service.rulesets.proof.findings import (
    Finding,
    dead_row,
    gap,
    overlap,
    undecided_gaps,
    undecided_rows,
)
from service.rulesets.proof.gaps import find_gaps
from service.rulesets.proof.grid import Grid
from service.rulesets.proof.overlaps import find_overlaps
from service.rulesets.proof.search import Purse
from service.rulesets.tables.lookup import CompiledTable
from service.rulesets.tables.model import HitPolicy

ALLOWANCE = 2_000_000
MOST_GAPS = 10
MOST_OVERLAPS = 100


class Proof(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong with one table; it `holds` when that is nothing.

    `gaps` share no input; `more_gaps` says that there are others. `overlaps` are sought in a UNIQUE
    table only; `more_overlaps` counts those that are not listed. `undecided` are questions that
    took too much work.
    """

    table: str
    gaps: tuple[Finding, ...] = ()
    more_gaps: bool = False
    overlaps: tuple[Finding, ...] = ()
    more_overlaps: int = 0
    dead_rows: tuple[Finding, ...] = ()
    undecided: tuple[Finding, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return everything that was found."""
        return self.gaps + self.overlaps + self.dead_rows + self.undecided

    @property
    def holds(self) -> bool:
        """Return whether every input is answered as the policy asks and every row can decide."""
        return not self.findings

    @property
    def sentences(self) -> tuple[str, ...]:
        """Return the findings as sentences, and how many were left out."""
        return tuple(self._told())

    def _told(self) -> Iterator[str]:
        for finding in self.findings:
            yield finding.text
        if self.more_gaps:
            yield "there are more gaps than these"
        if self.more_overlaps:
            yield f"there are {self.more_overlaps} more pairs of rows that overlap"


def prove(
    table: CompiledTable,
    *,
    most_gaps: int = MOST_GAPS,
    most_overlaps: int = MOST_OVERLAPS,
    allowance: int = ALLOWANCE,
) -> Proof:
    """Return gaps, overlaps and dead rows of a table, each with a counter-example.

    A gap is a part of the input space that no row matches, under every policy. An overlap is a pair
    of rows that both match an input, sought under UNIQUE. A dead row never decides: under FIRST and
    PRIORITY at each input it matches another row stands before it in order of precedence; under
    every policy, no value meets one of its conditions.

    `allowance` bounds the work, counted in looks at the rows of one cell. Half of it may go into
    the gaps, an eighth into any one row; a question that needs more is undecided.
    Limits: 200 rows over 8 dimensions stay well under the allowance when their conditions are
    ranges, or sets out of up to six options, however many dimensions they name. It can be exceeded
    by 200 rows that each name five dimensions and more with scattered sets out of eight options and
    more, when together they only just cover everything or only just fail to.
    """
    purse = Purse(total=allowance, share=allowance // 2)
    grid = Grid(table)
    gaps = find_gaps(table, grid, most_gaps, purse)
    purse.share = allowance // 8
    dead = _dead(table, grid, gaps.cover, purse)
    pairs = find_overlaps(table) if table.table.policy is HitPolicy.UNIQUE else []
    undecided = [undecided_gaps(len(gaps.boxes))] if gaps.tangled else []
    if tangled := [one.row for one in dead if one.tangled]:
        undecided.append(undecided_rows(table, tangled))
    return Proof(
        table=table.table.name,
        gaps=tuple(gap(table, cells) for cells in gaps.boxes),
        more_gaps=gaps.more,
        overlaps=tuple(overlap(table, *pair) for pair in pairs[:most_overlaps]),
        more_overlaps=len(pairs[most_overlaps:]),
        dead_rows=tuple(dead_row(table, one) for one in dead if not one.tangled),
        undecided=tuple(undecided),
    )


def _dead(table: CompiledTable, grid: Grid, cover: int, purse: Purse) -> list[Dead]:
    """Return the rows that never decide, or could not be judged, in row order."""
    dead = list(find_empty(table))
    if table.table.policy in (HitPolicy.FIRST, HitPolicy.PRIORITY):
        dead += find_covered(table, grid, cover, purse)
    place = {row.id: number for number, row in enumerate(table.table.rows)}
    return sorted(dead, key=lambda one: place[table.rows[one.row].id])
