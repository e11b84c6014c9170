"""Where a layout of a closed loop may start: every layout has a piece end in each window.

From a tab on, the first piece end comes within one piece. Nothing but tabs lies between, so it
is known what fixing went before. The window with the fewest places is taken. A loop without
tabs starts at a return instead: where the span rule holds, one comes within every span.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import msgspec

from service.calc.pieces.cells import FIXED, LOOSE, SECURE, WAITING
from service.calc.pieces.gaps import Gap, cut_to, gaps, once_round
from service.calc.pieces.marks import filled, joined, ones
from service.calc.pieces.track import Track

_MOST_STARTS = 256


class Window(msgspec.Struct, frozen=True, kw_only=True):
    """Starts to be tried together: the gaps from the first of them to the last one's return.

    Its layouts have `overlong` more pieces in overlong spans than the search counts.
    """

    gaps: list[Gap]
    starts: list[tuple[int, int]]
    overlong: int = 0


def windows(track: Track, tabs_nm: tuple[int, ...], *, loose: bool) -> Iterator[Window]:
    """Yield the windows that together hold a start of every layout of a closed loop.

    Without `loose` only layouts without an overlong span are meant.
    """
    if tabs_nm or not track.bound:
        first, last = _fewest_places(track, tabs_nm)
        yield from _cut(track, tabs_nm, first, last, loose=loose)
        return
    first, last = _span_with_fewest_returns(track)
    if loose:
        first, last = 0, track.count - 1
    returns = joined_returns(track)
    marks = [
        first + place
        for low, high in filled(track.part(returns, first, last - first + 1))
        for place in range(low, high + 1)
    ]
    for at in range(0, len(marks), _MOST_STARTS):
        part = marks[at : at + _MOST_STARTS]
        around = gaps(track, (), part[0], part[-1] + track.count + 1)
        yield Window(gaps=around, starts=[(mark, FIXED) for mark in part])
    if loose:
        yield _unfixed(track)


def joined_returns(track: Track) -> int:
    """Return every mark where a return may be made."""
    marks = 0
    for ends in track.returns.values():
        marks |= ends
    return marks


def _fewest_places(track: Track, tabs_nm: tuple[int, ...]) -> tuple[int, int]:
    """Return the first and last mark of the window after a tab with the fewest places."""
    plain, count = 0, track.count
    for marks in track.plain.values():
        plain |= marks
    wide = plain & _wide(track, tabs_nm)
    # twice round, so that a window past the origin is one part of the set as well
    plain, wide = plain | plain << count, wide | wide << count
    longest = track.piece_nm - min(stretch.lap_nm for stretch in track.laps)
    best: tuple[int, int, int] | None = None
    for tab in tabs_nm or (0,):
        first = track.first_mark(tab)
        last = min(track.last_mark(tab + longest - 1), first + count - 1)
        within = ones(last - first + 1)
        places = (plain >> first & within).bit_count() + 2 * (wide >> first & within).bit_count()
        if best is None or places < best[0]:
            best = places, first, last
    assert best is not None
    return best[1], best[2]


def _wide(track: Track, tabs_nm: tuple[int, ...]) -> int:
    """Return the marks that lie in wide gaps."""
    if not tabs_nm:
        return ones(track.count) if track.bound else 0
    marks = joined((gap.first, gap.end - 1) for gap in once_round(track, tabs_nm) if gap.wide)
    # the last gap goes on past the origin
    return (marks | marks >> track.count) & ones(track.count)


def _cut(
    track: Track, tabs_nm: tuple[int, ...], first: int, last: int, *, loose: bool
) -> Iterator[Window]:
    """Yield a window's starts, so many at a time as one search carries well."""
    around = gaps(track, tabs_nm, first, last + track.count + 1)
    starts = [
        start
        for gap in cut_to(around, first, last + 1)
        for start in (_wide_starts(track, gap, loose=loose) if gap.wide else _starts(track, gap))
    ]
    starts.sort()
    for at in range(0, len(starts), _MOST_STARTS):
        part = starts[at : at + _MOST_STARTS]
        far = list(cut_to(around, part[0][0], part[-1][0] + track.count + 1))
        yield Window(gaps=far, starts=part)


def _starts(track: Track, gap: Gap) -> list[tuple[int, int]]:
    return [(mark, SECURE) for mark in _marks(track, track.plain, gap.first, gap.end)]


def _wide_starts(track: Track, gap: Gap, *, loose: bool) -> list[tuple[int, int]]:
    within = min(gap.within, gap.end)
    found = [(mark, WAITING) for mark in _marks(track, track.plain, gap.first, within)]
    last = gap.end if loose else within
    for mark in _marks(track, track.returns, gap.first, last):
        found.append((mark, SECURE if mark >= gap.secure else FIXED))
    if loose:
        found += [(mark, LOOSE) for mark in _marks(track, track.plain, gap.first, gap.end)]
    return found


def _marks(
    track: Track, classes: Mapping[int, int] | Mapping[tuple[int, int], int], first: int, end: int
) -> list[int]:
    marks = 0
    for among in classes.values():
        marks |= track.part(among, first, max(end - first, 0))
    return [first + place for low, high in filled(marks) for place in range(low, high + 1)]


def _span_with_fewest_returns(track: Track) -> tuple[int, int]:
    """Return the marks after a position within its span, where the fewest returns can be."""
    returns = joined_returns(track)
    best: tuple[int, int, int] | None = None
    at_nm = [track.position(last) for _, last in filled(returns)]
    at_nm += [zone.start_nm for zone in track.run.zones]
    for at in at_nm:
        first = track.first_mark(at + 1)
        last = min(track.last_mark(track.reach_from(at)), first + track.count - 1)
        places = track.part(returns, first, last - first + 1).bit_count()
        if best is None or places < best[0]:
            best = places, first, last
    assert best is not None
    return best[1], best[2]


def _unfixed(track: Track) -> Window:
    """Return the starts of layouts with no fixing at all: one span, once round and more."""
    last = min(track.longest_step(), track.count) - 1
    marks = _marks(track, track.plain, 0, last + 1)
    around = gaps(track, (), 0, last + track.count + 1)
    return Window(gaps=around, starts=[(mark, LOOSE) for mark in marks], overlong=1)
