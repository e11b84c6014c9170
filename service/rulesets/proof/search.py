"""Exact search for a point that no row covers; nothing is sampled.

A point picks one cell on each dimension, and is uncovered when no row is satisfied by all picks.
The search narrows the open cells by what must hold, then splits a dimension at one row's side: the
points outside, where the row is gone, and those inside, where it has one condition less.

This is the question whether a disjunction is a tautology, for which no method is quick in every
case; so the work is counted, and beyond an allowance the search refuses. Method: tautology checking
of multiple-valued covers as in two-level logic minimisation, with unit propagation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from operator import or_

from service.rulesets.proof.columns import Columns, components, propagate, thin
from service.rulesets.proof.split import best_split, covers_by_count

Point = dict[int, int]
"""A cell by the number of its dimension."""

DEEPEST = 100


class Purse:
    """Work for several questions: `total` for all of them, no more than `share` for each.

    The unit is one look at the rows of one cell.
    """

    def __init__(self, total: int, share: int) -> None:
        self.left = total
        self.share = share

    def ask(
        self,
        sides: Sequence[Sequence[int]],
        columns: Columns,
        live: int,
        locate: bool = True,
    ) -> Point | int | None:
        """Return what a search settles, None when it is too tangled; see `Search.settle`."""
        search = Search(sides, min(self.left, self.share))
        try:
            return search.settle(columns, live, locate)
        except TooTangledError:
            return None
        finally:
            self.left -= min(self.left, search.spent)


class TooTangledError(Exception):
    """The search used up its allowance."""


class Search:
    """Searches in one set of rows; `sides[dimension][row]` is the set of the row's cells.

    `allowance` bounds the work and `spent` counts it, in looks at one cell's rows.
    """

    def __init__(self, sides: Sequence[Sequence[int]], allowance: int) -> None:
        self.spent = 0
        self._sides = sides
        self._allowance = allowance
        self._known: dict[tuple[tuple[int, ...], ...], int] = {}

    def settle(
        self, columns: Columns, live: int, locate: bool = True, depth: int = 0
    ) -> Point | int:
        """Return an uncovered point, or else a set of `live` rows that cover every point.

        With `locate` off a point may be empty and only says that there is one.
        Errors: TooTangledError.
        """
        columns, used = dict(columns), 0
        point: Point = {}
        while True:
            state = propagate(columns, live)
            self._spend(state.work, depth)
            used |= state.used
            if state.covered:
                return used
            live = thin(columns, state.live, point)
            if not live:
                return point | {place: min(cells.values()) for place, cells in columns.items()}
            if live == state.live:
                break
        opens = {place: state.opens[place] for place in columns}
        found = self._settle_parts(columns, opens, locate, depth)
        return found | used if isinstance(found, int) else point | found

    def _settle_parts(
        self, columns: Columns, opens: Mapping[int, int], locate: bool, depth: int
    ) -> Point | int:
        """Settle parts that share no row: all is covered as soon as one part is."""
        parts = components(opens)
        if len(parts) == 1:
            return self._settle_known(columns, opens, locate, depth)
        point: Point = {}
        for places, rows in parts:
            part = {place: columns[place] for place in places}
            found = self.settle(part, rows, locate, depth + 1)
            if isinstance(found, int):
                return found
            point |= found
        return point

    def _settle_known(
        self, columns: Columns, opens: Mapping[int, int], locate: bool, depth: int
    ) -> Point | int:
        """Settle one connected part, remembering what was found covered."""
        key = tuple(map(tuple, columns.values()))
        if key in self._known:
            return self._known[key]
        live = reduce(or_, opens.values())
        counted = covers_by_count(self._sides, columns, live)
        rows = live.bit_count()
        self._spend(rows if counted is None else rows * rows // 4, depth)
        if counted:
            return live
        if counted is False and not locate:
            return {}
        found = self._settle_split(columns, live, opens, locate, depth)
        if isinstance(found, int):
            self._known[key] = found
        return found

    def _settle_split(
        self, columns: Columns, live: int, opens: Mapping[int, int], locate: bool, depth: int
    ) -> Point | int:
        place, row, work = best_split(columns, live, opens)
        self._spend(work, depth)
        used = 0
        for inside in (False, True):
            part = {m: cell for m, cell in columns[place].items() if bool(m & row) is inside}
            found = self.settle({**columns, place: part}, live, locate, depth + 1)
            if not isinstance(found, int):
                return found
            used |= found
        return used

    def _spend(self, work: int, depth: int) -> None:
        self.spent += work
        if self.spent > self._allowance or depth > DEEPEST:
            raise TooTangledError
