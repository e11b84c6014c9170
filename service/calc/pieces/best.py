"""The best layout of one run in one direction, or the stretch where there is none."""

from __future__ import annotations

import msgspec

from service.calc.pieces.board import Board
from service.calc.pieces.cells import LOOSE, SECURE, WAITING
from service.calc.pieces.gaps import gaps, stand_ins
from service.calc.pieces.search import Search
from service.calc.pieces.starts import Window, windows
from service.calc.pieces.tight import tight_layout
from service.calc.pieces.trace import Best, ends_of
from service.calc.pieces.track import Track


class Nowhere(msgspec.Struct, frozen=True, kw_only=True):
    """No layout: from the last place that any piece reaches, none reaches another."""

    start_nm: int
    end_nm: int


def best_layout(track: Track) -> Best | Nowhere:
    """Return the best layout of a run, or where it cannot be laid out.

    Costs are (pieces in overlong spans, pieces, mesh), the last without what the run itself
    takes. An overlong span is looked for only when there is no layout without.
    """
    tight = tight_layout(track)
    return tight.best if tight and tight.best else searched(track)


def searched(track: Track) -> Best | Nowhere:
    """Return the best layout by a search, in which any run can be laid out."""
    lacking = stand_ins(track)
    tabs = tuple(sorted({*track.run.tabs_nm, *lacking}))
    for loose in (False, True):
        around = _windows(track, tabs, loose=loose)
        tries = [_Try(track, window, loose=loose) for window in around]
        found = [tried.best(lacking) for tried in tries if tried.found is not None]
        if found:
            return min(found, key=lambda best: best.cost)
    return _nowhere(track, tries)


class _Try:
    """One search from the starts of one window."""

    def __init__(self, track: Track, window: Window, *, loose: bool) -> None:
        closed = track.run.closed
        self.window = window
        board = Board(track, window.gaps, len(window.starts) if closed else 1)
        self.search = Search(board, loose=loose)
        noted: dict[tuple[int, int], int] = {}
        for number, (mark, kind) in enumerate(window.starts):
            start = number if closed else 0
            index, marks = board.bit(mark, start)
            noted[index, kind] = noted.get((index, kind), 0) | marks
            if closed:
                index, marks = board.bit(mark + track.count, start)
                board.cells[index].goal[kind] |= marks
        for (index, kind), marks in noted.items():
            self.search.levels.note(0, index, kind, marks)
        self.found = self.search.cheapest()

    def best(self, lacking: tuple[int, ...]) -> Best:
        """Return the layout that was found."""
        assert self.found is not None
        start, ends = ends_of(self.search, self.found)
        overlong, rest = divmod(self.found.cost, self.search.loose_cost)
        pieces, mesh = divmod(rest, self.search.piece_cost)
        cost = (overlong + self.window.overlong, pieces, mesh)
        return Best(cost=cost, start=start, ends=ends, lacking_nm=lacking)


def _windows(track: Track, tabs: tuple[int, ...], *, loose: bool) -> list[Window]:
    if track.run.closed:
        return list(windows(track, tabs, loose=loose))
    return [_whole(track, tabs, loose=loose)]


def _whole(track: Track, tabs: tuple[int, ...], *, loose: bool) -> Window:
    """Return the one start of an open run."""
    around = gaps(track, tabs, 0, track.count)
    kinds = (WAITING, LOOSE) if loose else (WAITING,)
    if not around[0].wide:
        kinds = (SECURE,)
    return Window(gaps=around, starts=[(0, kind) for kind in kinds])


def _nowhere(track: Track, tries: list[_Try]) -> Nowhere:
    """Return the stretch after the furthest place reached; the whole run if it was passed."""
    length = track.run.length_nm
    furthest = max((tried.search.levels.furthest() for tried in tries), default=None)
    if furthest is None:
        return Nowhere(start_nm=0, end_nm=length)
    start_nm = track.position(furthest)
    if track.run.closed and start_nm >= length:
        return Nowhere(start_nm=0, end_nm=length)
    lap = track.lap_at(start_nm) if start_nm else 0
    return Nowhere(start_nm=start_nm, end_nm=start_nm + track.piece_nm - lap)
