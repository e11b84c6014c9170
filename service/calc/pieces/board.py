"""The board a layout is searched on: every mark of the run, once for every start still open.

A cell is a stretch of neighbouring marks that lie in one gap and on one side of the origin. A
set of its marks is one integer with `width` bits a mark, one for each start, so that the work
from all starts is carried on at once and each still comes back to its own.
"""

from __future__ import annotations

from bisect import bisect_right

import msgspec

from service.calc.pieces.gaps import Gap
from service.calc.pieces.hops import Hop, hops, merged
from service.calc.pieces.marks import between, ones, widened
from service.calc.pieces.track import Track

SECURE, WAITING, LOOSE, FIXED = range(4)
"""What is known of the fixings at a piece's end.

SECURE: the fixings keep the span rule up to the next tab. WAITING: in a wide gap, with no
return since the tab before it, and bound to make one in time. LOOSE: in a gap already given up
as overlong. FIXED: a return, too far from the next tab for SECURE.
"""


class Landing(msgspec.Struct, frozen=True, kw_only=True):
    """Marks where pieces end alike: the lap and the return they take and what follows."""

    lap_nm: int
    return_nm: int | None
    kind: int
    marks: int


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """Returns whose next fixing may be `span_nm` on, or else as far as `until_nm`."""

    marks: int
    span_nm: int | None
    until_nm: int


class Cell(msgspec.Struct, kw_only=True):
    """Neighbouring marks in one gap, and every way a piece may end on them."""

    first: int
    count: int
    shift_nm: int
    gap: int
    wide: bool
    sources: list[tuple[int, int]]
    carry: list[list[Landing]] = msgspec.field(default_factory=lambda: [[], [], [], []])
    enter: list[Landing] = msgspec.field(default_factory=list)
    enter_loose: list[Landing] = msgspec.field(default_factory=list)
    returns: list[Landing] = msgspec.field(default_factory=list)
    returns_within: list[Landing] = msgspec.field(default_factory=list)
    limits: list[Limit] = msgspec.field(default_factory=list)
    hops: list[Hop] = msgspec.field(default_factory=list)
    in_gap: list[int] = msgspec.field(default_factory=list)
    beyond: list[int] = msgspec.field(default_factory=list)
    goal: list[int] = msgspec.field(default_factory=lambda: [0, 0, 0, 0])


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

    def bit(self, cell: Cell, mark: int, start: int) -> int:
        """Return the bit of one mark and start in a cell's sets."""
        return 1 << (mark - cell.first) * self.width + start

    def _add_gap(self, index: int, gap: Gap) -> None:
        track = self.track
        first = gap.first if track.run.closed else max(gap.first, 1)
        size = track.longest_step()
        chains = hops(track, gap) if gap.wide else []
        while first < gap.end:
            end = min(gap.end, first + size)
            if track.run.closed:
                end = min(end, (first // track.count + 1) * track.count)
            self.cells.append(self._cell(index, gap, first, end - first, chains))
            first = end

    def _cell(self, index: int, gap: Gap, first: int, count: int, chains: list[Hop]) -> Cell:
        track = self.track
        plain = [
            (lap, self._wide(track.part(marks, first, count))) for lap, marks in track.plain.items()
        ]
        plain = [(lap, marks) for lap, marks in plain if marks]
        cell = Cell(
            first=first,
            count=count,
            shift_nm=track.shift(first),
            gap=index,
            wide=gap.wide,
            sources=plain,
        )
        everywhere = self._rows(cell, first, first + count)
        cell.carry[SECURE] = _plain(plain, SECURE, everywhere)
        if gap.wide:
            self._fill_wide(cell, gap, chains)
        else:
            cell.enter = cell.carry[SECURE]
        return cell

    def _fill_wide(self, cell: Cell, gap: Gap, chains: list[Hop]) -> None:
        everywhere = self._rows(cell, cell.first, cell.first + cell.count)
        within = self._rows(cell, gap.first, gap.within)
        secure = self._rows(cell, gap.secure, gap.end)
        cell.carry[WAITING] = _plain(cell.sources, WAITING, within)
        cell.carry[LOOSE] = _plain(cell.sources, LOOSE, everywhere)
        for (lap, length), marks in self.track.returns.items():
            ends = self._wide(self.track.part(marks, cell.first, cell.count))
            for kind, part in ((SECURE, ends & secure), (FIXED, ends & ~secure)):
                cell.returns += _landing(lap, length, kind, part)
                cell.returns_within += _landing(lap, length, kind, part & within)
        cell.enter = cell.carry[WAITING] + cell.returns_within
        cell.enter_loose = cell.carry[LOOSE] + cell.returns
        cell.limits = self._limits(cell)
        cell.hops = merged(
            [
                msgspec.structs.replace(
                    hop,
                    barred=self._wide(hop.barred >> cell.first - gap.first & ones(cell.count)),
                )
                for hop in chains
            ]
        )

    def _limits(self, cell: Cell) -> list[Limit]:
        """Return how far the next fixing may be from returns made in the cell."""
        track, found = self.track, []
        first_nm = track.position(cell.first)
        turn_nm = first_nm // track.run.length_nm * track.run.length_nm
        for stretch in track.spans:
            first = track.first_mark(turn_nm + stretch.first_nm)
            last = track.last_mark(turn_nm + stretch.last_nm)
            marks = self._rows(cell, first, last + 1)
            if marks:
                until_nm = turn_nm + (stretch.until_nm or 0)
                found.append(Limit(marks=marks, span_nm=stretch.span_nm, until_nm=until_nm))
        return found

    def _add_ends(self, gaps: list[Gap]) -> None:
        """Add the two ends of an open run: a start without a lap, an end where all closes."""
        track, count = self.track, self.track.count
        start = Cell(first=0, count=1, shift_nm=0, gap=0, wide=gaps[0].wide, sources=[(0, 1)])
        self.cells.insert(0, start)
        end_nm = count * track.grid_nm - track.run.length_nm
        length = track.end_return()
        if length is not None and not track.run.tabs_nm and gaps[-1].wide:
            made = Landing(lap_nm=0, return_nm=length, kind=SECURE, marks=1)
            near = track.reach_from(0) >= track.run.length_nm
            last = Cell(
                first=count,
                count=1,
                shift_nm=end_nm,
                gap=len(gaps) - 1,
                wide=True,
                sources=[(0, 1)],
                returns=[made],
            )
            last.returns_within = [made] if near else []
            last.goal[SECURE] = 1
            self.cells.append(last)
        end = Cell(
            first=count + 1,
            count=1,
            shift_nm=end_nm + track.grid_nm,
            gap=len(gaps),
            wide=False,
            sources=[],
        )
        end.enter = [Landing(lap_nm=0, return_nm=None, kind=SECURE, marks=1)]
        end.goal[SECURE] = 1
        self.cells.append(end)
        self.wide_before.append(self.wide_before[-1])

    def _look_ahead(self, index: int, cell: Cell) -> None:
        """Note the cells within a piece: those of a wide gap itself, and all others."""
        last = cell.first + cell.count + self.track.longest_step()
        for ahead in range(index, bisect_right(self.firsts, last)):
            target = self.cells[ahead]
            same = target.gap == cell.gap and cell.wide
            (cell.in_gap if same else cell.beyond).append(ahead)

    def _wide(self, marks: int) -> int:
        return widened(marks, self.width)

    def _rows(self, cell: Cell, first: int, end: int) -> int:
        first = max(first, cell.first) - cell.first
        end = min(end, cell.first + cell.count) - cell.first
        return between(first * self.width, end * self.width - 1)


def _plain(classes: list[tuple[int, int]], kind: int, among: int) -> list[Landing]:
    return [
        landing for lap, marks in classes for landing in _landing(lap, None, kind, marks & among)
    ]


def _landing(lap: int, length: int | None, kind: int, marks: int) -> list[Landing]:
    if not marks:
        return []
    return [Landing(lap_nm=lap, return_nm=length, kind=kind, marks=marks)]
