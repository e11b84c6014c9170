"""The search: all layouts of one cost are carried on together, the cheapest first.

A cost is one whole number made of three: pieces in overlong spans, then pieces, then mesh, each
outweighing all that follow. So the first layout that comes back to its own start is the best
there is.
"""

from __future__ import annotations

import msgspec

from service.calc.pieces.board import Board
from service.calc.pieces.cells import LOOSE, SECURE, WAITING_UNTIL, Cell, Landing
from service.calc.pieces.levels import Levels, Move, Source


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """Where a layout closed: its cost, cell, kind and bit."""

    cost: int
    cell: int
    kind: int
    bit: int


class Search:
    """One search on a board. With `loose`, overlong spans are allowed and counted."""

    def __init__(self, board: Board, *, loose: bool) -> None:
        self.board, self.loose = board, loose
        self.cells, self.levels = board.cells, Levels(board)
        self.piece_cost, self.loose_cost = _weights(board)

    def cheapest(self) -> Found | None:
        """Return the cheapest layout that closes, or None if none does."""
        while (taken := self.levels.take()) is not None:
            cost, index, sets = taken
            cell = self.cells[index]
            for kind, goal in enumerate(cell.goal):
                closed = sets[kind] & goal
                if closed and cost:
                    bit = (closed & -closed).bit_length() - 1
                    return Found(cost=cost, cell=index, kind=kind, bit=bit)
            self._move_on(cost, index, sets)
        return None

    def _move_on(self, cost: int, index: int, sets: list[int]) -> None:
        cell = self.cells[index]
        moves = (self._from_secure, self._wait, self._from_loose, self._from_fixed, self._wait)
        for lap, among in cell.sources:
            for kind, ends in enumerate(sets):
                marks = ends & among
                if marks:
                    last = cell.first + marks.bit_length() // self.board.width
                    source = Source(
                        cost=cost, cell=index, kind=kind, lap_nm=lap, marks=marks, last=last
                    )
                    moves[min(kind, WAITING_UNTIL)](source, cell, kind)

    def _from_secure(self, source: Source, cell: Cell, _: int) -> None:
        self._beyond(source, cell, 0)
        if cell.wide:
            self._carry_on(source, cell, SECURE, 0)

    def _wait(self, source: Source, cell: Cell, kind: int) -> None:
        """Move on within a wide gap, to the return that is due or with it still due."""
        self._carry_on(source, cell, kind, 0)
        self._turn_in(source, cell, kind, 0)

    def _from_loose(self, source: Source, cell: Cell, _: int) -> None:
        self._beyond(source, cell, self.loose_cost)
        self._carry_on(source, cell, LOOSE, self.loose_cost)
        self._turn_in(source, cell, LOOSE, self.loose_cost)

    def _from_fixed(self, source: Source, cell: Cell, kind: int) -> None:
        for due in cell.dues:
            near = source.among(due.marks)
            if near.marks and due.span_nm is None:
                self._wait(near, cell, due.kind)
            elif near.marks:
                self._turn_in(near, cell, kind, 0, due.span_nm)
                self._hop(near, cell)
        if self.loose:
            self._from_loose(source, cell, LOOSE)

    def _beyond(self, source: Source, cell: Cell, extra: int) -> None:
        """Move on past the gap's end, or freely where the gap is narrow."""
        wide_before = self.board.wide_before
        for index in cell.beyond:
            target = self.cells[index]
            passed_over = max(wide_before[target.gap] - wide_before[cell.gap + 1], 0)
            if passed_over and not self.loose:
                break
            cost = extra + passed_over * self.loose_cost
            self._land(source, index, target.enter, cost)
            if self.loose:
                self._land(source, index, target.enter_loose, cost + self.loose_cost)

    def _carry_on(self, source: Source, cell: Cell, kind: int, extra: int) -> None:
        """Move on within a wide gap with no return made."""
        for index in cell.in_gap:
            self._land(source, index, self.cells[index].carry[kind], extra)

    def _turn_in(
        self, source: Source, cell: Cell, kind: int, extra: int, within_nm: int | None = None
    ) -> None:
        """Move on within a wide gap to a return."""
        for index in cell.in_gap:
            self._land(source, index, self.cells[index].turn[kind], extra, within_nm)

    def _land(
        self,
        source: Source,
        index: int,
        landings: list[Landing],
        extra: int,
        within_nm: int | None = None,
    ) -> None:
        """Move a set on by one piece onto the marks of one cell."""
        track = self.board.track
        lacking = self.cells[index].shift_nm - self.cells[source.cell].shift_nm
        low = -(-(track.least_nm - source.lap_nm + lacking) // track.grid_nm)
        for landing in landings:
            longest = track.piece_nm - source.lap_nm - (landing.return_nm or 0)
            if within_nm is not None:
                longest = min(longest, within_nm)
            high = (longest + lacking) // track.grid_nm
            if high >= low:
                move = Move(low=low, high=high, cost=extra + self.piece_cost)
                self.levels.put(source, index, landing, move)

    def _hop(self, source: Source, cell: Cell) -> None:
        """Move on to returns over plain laps."""
        for hop, aims in zip(cell.hops, cell.aims, strict=True):
            free = source.among(~hop.barred)
            if hop.lap_nm != source.lap_nm or not free.marks:
                continue
            move = Move(
                low=hop.low,
                high=hop.high,
                cost=(hop.laps + 1) * self.piece_cost + hop.between_nm,
                laps=hop.laps,
                between_nm=hop.between_nm,
            )
            for index, landing in aims:
                self.levels.put(free, index, landing, move)


def _weights(board: Board) -> tuple[int, int]:
    """Return the cost of a piece and of one in an overlong span, in mesh [nm]."""
    track = board.track
    marks = board.cells[-1].first + board.cells[-1].count - board.cells[0].first + 2
    longest = max(stretch.lap_nm for stretch in track.laps)
    longest += max((reach.return_nm for reach in track.run.reaches), default=0)
    piece = 1 << (marks * longest).bit_length()
    return piece, piece << marks.bit_length()
