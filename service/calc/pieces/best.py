"""The best layout of one run in one direction, or the stretch where there is none."""

from __future__ import annotations

from bisect import bisect_right

import msgspec

from service.calc.pieces.board import LOOSE, SECURE, WAITING, Board
from service.calc.pieces.gaps import gaps, stand_ins
from service.calc.pieces.search import Search
from service.calc.pieces.starts import Window, windows
from service.calc.pieces.trace import End, ends_of
from service.calc.pieces.track import Track


class Best(msgspec.Struct, frozen=True, kw_only=True):
    """The ends of a layout's pieces from mark `start` on, and what it costs."""

    cost: tuple[int, int, int]
    start: int
    ends: list[End]
    lacking_nm: tuple[int, ...]


class Nowhere(msgspec.Struct, frozen=True, kw_only=True):
    """No layout: from the last place that any piece reaches, none reaches another."""

    start_nm: int
    end_nm: int


def best_layout(track: Track) -> Best | Nowhere:
    """Return the best layout of a run, or where it cannot be laid out.

    Costs are (pieces in overlong spans, pieces, mesh), the last without what the run itself
    takes. An overlong span is looked for only when there is no layout without.
    """
    lacking = stand_ins(track)
    tabs = tuple(sorted({*track.run.tabs_nm, *lacking}))
    for loose in (False, True):
        around = [_whole(track, tabs, loose=loose)]
        if track.run.closed:
            around = list(windows(track, tabs, loose=loose))
        searches = [_searched(track, window, loose=loose) for window in around]
        found = [
            _best(search, window.overlong, lacking)
            for search, window in zip(searches, around, strict=True)
            if search.found
        ]
        if found:
            return min(found, key=lambda best: best.cost)
    return _nowhere(track, searches)


def _whole(track: Track, tabs: tuple[int, ...], *, loose: bool) -> Window:
    """Return the one start of an open run."""
    around = gaps(track, tabs, 0, track.count)
    kinds = (WAITING, LOOSE) if loose else (WAITING,)
    if not around[0].wide:
        kinds = (SECURE,)
    return Window(gaps=around, starts=[(0, kind) for kind in kinds])


def _searched(track: Track, window: Window, *, loose: bool) -> Search:
    closed = track.run.closed
    board = Board(track, window.gaps, len(window.starts) if closed else 1)
    search = Search(board, loose=loose)
    for number, (mark, kind) in enumerate(window.starts):
        start = number if closed else 0
        index = bisect_right(board.firsts, mark) - 1
        search.start(index, kind, board.bit(board.cells[index], mark, start))
        if closed:
            cell = board.cells[bisect_right(board.firsts, mark + track.count) - 1]
            cell.goal[kind] |= board.bit(cell, mark + track.count, start)
    search.run()
    return search


def _best(search: Search, overlong: int, lacking: tuple[int, ...]) -> Best:
    assert search.found is not None
    start, ends = ends_of(search, search.found)
    loose, rest = divmod(search.found.cost, search.loose_cost)
    pieces, mesh = divmod(rest, search.piece_cost)
    return Best(cost=(loose + overlong, pieces, mesh), start=start, ends=ends, lacking_nm=lacking)


def _nowhere(track: Track, searches: list[Search]) -> Nowhere:
    """Return the stretch after the furthest place reached; the whole run if it was passed."""
    length = track.run.length_nm
    furthest = max((search.furthest() for search in searches), default=None)
    if furthest is None:
        return Nowhere(start_nm=0, end_nm=length)
    start_nm = track.position(furthest)
    if track.run.closed and start_nm >= length:
        return Nowhere(start_nm=0, end_nm=length)
    lap = track.lap_at(start_nm) if start_nm else 0
    return Nowhere(start_nm=start_nm, end_nm=start_nm + track.piece_nm - lap)
