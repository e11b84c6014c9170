"""The board a layout is searched on: every mark of the run, once for every start still open.

A cell is a stretch of neighbouring marks that lie in one gap and on one side of the origin. A
set of its marks is one integer with `width` bits a mark, one for each start, so that the work
from all starts is carried on at once and each still comes back to its own.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

from service.calc.pieces.cells import (
    FIXED,
    LOOSE,
    SECURE,
    WAITING,
    WAITING_UNTIL,
    Cell,
    Landing,
    bare_cell,
)
from service.calc.pieces.gaps import Gap
from service.calc.pieces.hops import Hop
from service.calc.pieces.track import Track
from service.calc.pieces.wide import Filler

_STEPS_TO_A_CELL = 3


def cell_bounds(track: Track, gap: Gap) -> Iterator[tuple[int, int]]:
    """Yield where the cells of a gap begin and end.

    It is cut at the origin and wherever a cell would grow too long.
    """
    closed, count, most = track.run.closed, track.count, _STEPS_TO_A_CELL * track.longest_step()
    first = gap.first if closed else max(gap.first, 1)
    while first < gap.end:
        end = min(gap.end, first + most)
        if closed:
            end = min(end, (first // count + 1) * count)
        yield first, end
        first = end


class Board:
    """The cells of one search, in order along the run."""

    def __init__(self, track: Track, gaps: list[Gap], width: int) -> None:
        self.track, self.width = track, width
        self.cells: list[Cell] = []
        self.wide_before = [0]
        for index, gap in enumerate(gaps):
            self.wide_before.append(self.wide_before[-1] + gap.wide)
            self._add_gap(index, gap)
        if not track.run.closed:
            self._add_ends(gaps)
        self.firsts = [cell.first for cell in self.cells]
        for index, cell in enumerate(self.cells):
            self._look_ahead(index, cell)

    def bit(self, mark: int, start: int) -> tuple[int, int]:
        """Return the cell of a mark, and the bit of the mark and a start in that cell's sets."""
        index = bisect_right(self.firsts, mark) - 1
        return index, 1 << (mark - self.cells[index].first) * self.width + start

    def _add_gap(self, index: int, gap: Gap) -> None:
        """Add the cells of a gap."""
        track, filler = self.track, Filler(self.track, gap, self.width)
        for first, end in cell_bounds(track, gap):
            cell = bare_cell(
                index,
                filler.kinds,
                first=first,
                count=end - first,
                shift_nm=track.shift(first),
                wide=gap.wide,
            )
            filler.fill(cell)
            self.cells.append(cell)

    def _add_ends(self, gaps: list[Gap]) -> None:
        """Add the two ends of an open run: a start without a lap, an end where all closes."""
        track, count = self.track, self.track.count
        start = bare_cell(0, WAITING_UNTIL, first=0, count=1, shift_nm=0, wide=gaps[0].wide)
        start.sources = [(0, 1)]
        kinds = len(self.cells[-1].carry) if self.cells else WAITING_UNTIL
        self.cells.insert(0, start)
        shift_nm = count * track.grid_nm - track.run.length_nm
        length = track.end_return()
        if length is not None and not track.run.tabs_nm and gaps[-1].wide:
            last = len(gaps) - 1
            turned = bare_cell(last, kinds, first=count, count=1, shift_nm=shift_nm, wide=True)
            self._turn_end(turned, length)
        end = bare_cell(
            len(gaps),
            WAITING_UNTIL,
            first=count + 1,
            count=1,
            shift_nm=shift_nm + track.grid_nm,
            wide=False,
        )
        end.enter = [Landing(lap_nm=0, return_nm=None, kind=SECURE, marks=1)]
        end.goal[SECURE] = 1
        self.cells.append(end)
        self.wide_before.append(self.wide_before[-1])

    def _turn_end(self, end: Cell, length: int) -> None:
        """Let the end of an open run be a return, which may be all that fixes it."""
        made = [Landing(lap_nm=0, return_nm=length, kind=SECURE, marks=1)]
        end.turn[LOOSE] = end.turn[FIXED] = made
        if self.track.reach_from(0) >= self.track.run.length_nm:
            end.turn[WAITING] = made
        end.goal[SECURE] = 1
        self.cells.append(end)

    def _look_ahead(self, index: int, cell: Cell) -> None:
        """Note the cells within a piece: those of a wide gap itself, and all others."""
        last = cell.first + cell.count + self.track.longest_step()
        for ahead in range(index, bisect_right(self.firsts, last)):
            target = self.cells[ahead]
            same = target.gap == cell.gap and cell.wide
            (cell.in_gap if same else cell.beyond).append(ahead)
        cell.aims = [self._aims(index, cell, hop) for hop in cell.hops]

    def _aims(self, index: int, cell: Cell, hop: Hop) -> list[tuple[int, Landing]]:
        """Return the cells and the returns in them that a hop leads to."""
        last = cell.first + cell.count + hop.high
        return [
            (ahead, landing)
            for ahead in range(index, bisect_right(self.firsts, last))
            if self.cells[ahead].gap == cell.gap
            for landing in self.cells[ahead].turn[FIXED]
            if (landing.lap_nm, landing.return_nm) == (hop.end_lap_nm, hop.return_nm)
        ]
