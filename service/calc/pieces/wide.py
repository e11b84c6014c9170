"""What may follow on what in one gap, filled into the cells of a board."""

from __future__ import annotations

import msgspec

from service.calc.pieces.cells import (
    FIXED,
    LOOSE,
    SECURE,
    WAITING,
    WAITING_UNTIL,
    Cell,
    Due,
    Landing,
    cut_down,
    plain_landings,
)
from service.calc.pieces.gaps import Gap
from service.calc.pieces.hops import Hop, known_hops, merged
from service.calc.pieces.limits import limits
from service.calc.pieces.marks import between, ones, widened
from service.calc.pieces.track import Track


class Filler:
    """Fills the cells of one gap; `kinds` is how many kinds of ends there are in it."""

    def __init__(self, track: Track, gap: Gap, width: int) -> None:
        self.track, self.gap, self.width = track, gap, width
        self.untils: list[int] = []
        self.hops: list[Hop] = []
        if gap.wide:
            open_end = min(gap.secure, gap.end)
            self.limits = limits(track, gap.first, open_end) if open_end > gap.first else []
            self.untils = sorted({limit.until for limit in self.limits if limit.span_nm is None})
            self.hops = known_hops(track, gap)
        self.kinds = WAITING_UNTIL + len(self.untils)

    def fill(self, cell: Cell) -> None:
        """Fill in every way a piece may end in a cell of the gap."""
        everywhere = ones(cell.count * self.width)
        classes = [(lap, self._of(cell, marks)) for lap, marks in self.track.plain.items()]
        cell.sources = [(lap, marks) for lap, marks in classes if marks]
        cell.carry[SECURE] = plain_landings(cell.sources, SECURE, everywhere)
        cell.enter = cell.carry[SECURE]
        if self.gap.wide:
            self._fill_wide(cell, everywhere)

    def _fill_wide(self, cell: Cell, everywhere: int) -> None:
        returns = self._returns(cell)
        cell.turn[FIXED] = cell.turn[LOOSE] = returns
        cell.carry[LOOSE] = plain_landings(cell.sources, LOOSE, everywhere)
        self._fill_waiting(cell, WAITING, self.gap.within)
        for number, until in enumerate(self.untils):
            self._fill_waiting(cell, WAITING_UNTIL + number, until + 1)
        cell.enter = cell.carry[WAITING] + cell.turn[WAITING]
        cell.enter_loose = cell.carry[LOOSE] + returns
        cell.dues = self._dues(cell)
        cell.hops = merged(self._hops_from(cell))

    def _fill_waiting(self, cell: Cell, kind: int, end: int) -> None:
        """Let a kind wait for its next fixing before mark `end`."""
        among = self._rows(cell, cell.first, end)
        cell.carry[kind] = plain_landings(cell.sources, kind, among)
        cell.turn[kind] = cut_down(cell.turn[FIXED], among)

    def _returns(self, cell: Cell) -> list[Landing]:
        secure = self._rows(cell, self.gap.secure, self.gap.end)
        return [
            Landing(lap_nm=lap, return_nm=length, kind=kind, marks=part)
            for (lap, length), marks in self.track.returns.items()
            if (ends := self._of(cell, marks))
            for kind, part in ((SECURE, ends & secure), (FIXED, ends & ~secure))
            if part
        ]

    def _dues(self, cell: Cell) -> list[Due]:
        """Return how far the next fixing may be from returns made in the cell."""
        found = []
        for limit in self.limits:
            marks = self._rows(cell, limit.first, limit.last + 1)
            kind = FIXED
            if limit.span_nm is None:
                kind = WAITING_UNTIL + self.untils.index(limit.until)
            if marks:
                found.append(Due(marks=marks, span_nm=limit.span_nm, kind=kind))
        return found

    def _hops_from(self, cell: Cell) -> list[Hop]:
        """Return the hops that work from some mark of the cell, with its own marks."""
        offset, among = cell.first - self.gap.first, ones(cell.count)
        return [
            msgspec.structs.replace(
                hop, joined=0, barred=widened(hop.barred >> offset & among, self.width)
            )
            for hop in self.hops
            if hop.joined >> offset & among
        ]

    def _of(self, cell: Cell, marks: int) -> int:
        return widened(self.track.part(marks, cell.first, cell.count), self.width)

    def _rows(self, cell: Cell, first: int, end: int) -> int:
        """Return the marks of a cell from `first` up to `end`, for every start."""
        first = max(first, cell.first) - cell.first
        end = min(end, cell.first + cell.count) - cell.first
        return between(first * self.width, end * self.width - 1)
