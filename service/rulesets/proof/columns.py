"""What a search works on: the cells still open on each dimension, each with the rows it satisfies.

A set of rows is an integer, one bit each. A row is open on a dimension when some open cell there
does not satisfy it; a row that is open nowhere covers every point that is left.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import reduce
from operator import and_, or_

import msgspec

Column = dict[int, int]
"""Rows satisfied -> one cell that satisfies just these."""

Columns = dict[int, Column]
"""A column by the number of its dimension."""


class State(msgspec.Struct, frozen=True, kw_only=True):
    """What propagation leaves: rows that may still cover something, and where each is open.

    `used` are the rows it leaned on, which cover all if `covered`; `work` counts cells looked at.
    """

    live: int
    opens: dict[int, int]
    used: int
    covered: bool
    work: int


def propagate(columns: Columns, live: int) -> State:
    """Close the cells that one row alone covers, as long as there are such cells.

    A row that is open on a single dimension covers its cells there, whatever stands elsewhere; so
    an uncovered point lies outside them. `columns` is changed in place.
    """
    used = work = 0
    while True:
        for column in columns.values():
            live &= reduce(or_, column, 0)
            work += len(column)
        opens = {place: live & ~reduce(and_, column) for place, column in columns.items()}
        once, twice = _counted(opens)
        closed, units = live & ~once, once & ~twice
        covered = bool(closed)
        if closed or not units:
            used |= closed & -closed
            break
        used |= units
        live &= ~units
        if not _close(columns, opens, units):
            covered = True
            break
    return State(live=live, opens=opens, used=used, covered=covered, work=work)


def thin(columns: Columns, live: int, point: dict[int, int]) -> int:
    """Keep the cells with the least rows and return the rows that are then still live.

    A cell whose rows include all of another cell's is covered wherever that one is. A dimension
    with a single cell left is moved to `point`. `columns` and `point` are changed in place.
    """
    left = live
    for place, column in list(columns.items()):
        least = _least(_restricted(column, live))
        left &= reduce(or_, least)
        columns[place] = least
        if len(least) == 1:
            point[place] = columns.pop(place).popitem()[1]
    return left


def components(opens: Mapping[int, int]) -> list[tuple[list[int], int]]:
    """Return the dimensions in parts that share no open row, smallest first, each with its rows."""
    parts: list[tuple[list[int], int]] = []
    for place, rows in opens.items():
        joined = [part for part in parts if part[1] & rows]
        places = [place for part in joined for place in part[0]]
        rows = reduce(or_, (part[1] for part in joined), rows)
        parts = [part for part in parts if not part[1] & rows]
        parts.append(([*places, place], rows))
    return sorted(parts, key=lambda part: (len(part[0]), part[1].bit_count()))


def _counted(opens: Mapping[int, int]) -> tuple[int, int]:
    """Return the rows that are open at least once and at least twice."""
    once = twice = 0
    for rows in opens.values():
        twice |= once & rows
        once |= rows
    return once, twice


def _close(columns: Columns, opens: Mapping[int, int], units: int) -> bool:
    """Drop the cells that the unit rows satisfy; return whether every column has cells left."""
    for place, rows in opens.items():
        if own := units & rows:
            kept = {mask: cell for mask, cell in columns[place].items() if not mask & own}
            columns[place] = kept
            if not kept:
                return False
    return True


def _restricted(column: Column, live: int) -> Column:
    kept: Column = {}
    for mask, cell in column.items():
        kept.setdefault(mask & live, cell)
    return kept


def _least(column: Column) -> Column:
    """Return the cells whose rows include no other cell's rows."""
    if len(column) == 1:
        return column
    if 0 in column:
        return {0: column[0]}
    least: list[int] = []
    for mask in sorted(column, key=int.bit_count):
        for other in least:
            if other & mask == other:
                break
        else:
            least.append(mask)
    if len(least) == len(column):
        return column
    kept = set(least)
    return {mask: cell for mask, cell in column.items() if mask in kept}
