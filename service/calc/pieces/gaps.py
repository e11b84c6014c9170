"""The gaps between tabs, and the places where fixings are lacking whatever the layout.

Where neither a tab nor a return is possible over more than a span, no layout keeps the span
rule. Stand-ins for the fixings lacking there are spread evenly over such a stretch and taken
for tabs, so that the fixings before and after it stand as they would if those existed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

import msgspec

from service.calc.pieces.marks import filled
from service.calc.pieces.track import Track


class Gap(msgspec.Struct, frozen=True, kw_only=True):
    """Marks from `first` up to but not `end`, between two tabs or over several gaps.

    `wide` says that the gap is wider than the span and needs returns. In a wide gap, fixings
    before the mark `within` are near enough to the tab before it, and those from the mark
    `secure` on near enough to the tab after it.
    """

    first: int
    end: int
    wide: bool
    within: int = 0
    secure: int = 0


def stand_ins(track: Track) -> tuple[int, ...]:
    """Return where fixings are lacking in every layout, taken round into the run [nm]."""
    if not track.bound:
        return ()
    run = track.run
    possible = _possible(track)
    if not possible:
        return _without_any(track)
    if run.closed:
        possible.append((possible[0][0] + run.length_nm, 0))
    else:
        possible = [(0, 0), *possible, (run.length_nm, 0)]
    lacking: list[int] = []
    before = possible[0][1]
    for after, last in possible[1:]:
        if after > track.reach_from(before):
            lacking += _spread_evenly(track, before, after)
        before = max(before, last)
    return tuple(sorted(at % run.length_nm for at in lacking))


def gaps(track: Track, tabs_nm: tuple[int, ...], first: int, end: int) -> list[Gap]:
    """Return the gaps over the marks from `first` up to `end`, narrow neighbours joined.

    `tabs_nm` are all tabs, stand-ins among them, in order. On an open run the ends bound gaps
    like tabs do; without any tab its one gap is wide, since something must fix the channel.
    """
    if not tabs_nm and (track.run.closed or not track.bound):
        return [Gap(first=first, end=end, wide=track.bound, within=first, secure=end)]
    found: list[Gap] = []
    for gap in cut_to(_each(track, tabs_nm, first, end), first, end):
        if gap.first >= gap.end and not gap.wide:
            continue
        if found and not gap.wide and not found[-1].wide:
            gap = Gap(first=found.pop().first, end=gap.end, wide=False)
        found.append(gap)
    return found


def once_round(track: Track, tabs_nm: tuple[int, ...]) -> list[Gap]:
    """Return the gaps of a run between each two neighbouring bounds, once round, none joined.

    On a closed loop there is a tab, and the last gap goes on past the origin to the first tab.
    They are worked out once: those of any other time round lie a loop's marks further on.
    """
    known = track.known_gaps.get(tabs_nm)
    if known is None:
        length = track.run.length_nm
        if track.run.closed:
            bounds = [*tabs_nm, tabs_nm[0] + length]
        else:
            bounds = sorted({0, *tabs_nm, length})
        known = track.known_gaps[tabs_nm] = [
            _gap(track, before, after, wide=not tabs_nm or after > track.reach_from(before))
            for before, after in pairwise(bounds)
        ]
    return known


def cut_to(around: Iterable[Gap], first: int, end: int) -> Iterator[Gap]:
    """Yield the parts of some gaps that have marks from `first` up to `end`."""
    for gap in around:
        if first <= gap.first and gap.end <= end:
            yield gap
        elif first < gap.end and gap.first < end:
            yield Gap(
                first=max(gap.first, first),
                end=min(gap.end, end),
                wide=gap.wide,
                within=gap.within,
                secure=gap.secure,
            )


def _possible(track: Track) -> list[tuple[int, int]]:
    """Return the stretches over which fixings are possible, in order [nm]."""
    marks = 0
    for (_, length), ends in track.returns.items():
        if track.holds(length):
            marks |= ends
    found = [(track.position(first), track.position(last)) for first, last in filled(marks)]
    found += [(tab, tab) for tab in track.run.tabs_nm]
    end_return = track.end_return()
    if end_return is not None:
        found.append((track.run.length_nm, track.run.length_nm))
    return sorted(found)


def _without_any(track: Track) -> tuple[int, ...]:
    """Return stand-ins for a run on which no fixing is possible at all."""
    run = track.run
    if not run.closed:
        return tuple(_spread_evenly(track, 0, run.length_nm))
    count, reached = 1, track.reach_from(0)
    while reached < run.length_nm:
        count, reached = count + 1, track.reach_from(reached)
    while True:
        found = [run.length_nm * place // count for place in range(count)]
        if _in_span(track, [*found, run.length_nm]):
            return tuple(found)
        count += 1


def _spread_evenly(track: Track, before: int, after: int) -> list[int]:
    """Return the fewest evenly spaced positions between two that keep the span rule."""
    count, reached = 1, track.reach_from(track.reach_from(before))
    while reached < after:
        count, reached = count + 1, track.reach_from(reached)
    while True:
        found = [before + (after - before) * place // (count + 1) for place in range(1, count + 1)]
        if _in_span(track, [before, *found, after]):
            return found
        count += 1


def _in_span(track: Track, fixings: list[int]) -> bool:
    return all(after <= track.reach_from(before) for before, after in pairwise(fixings))


def _each(track: Track, tabs_nm: tuple[int, ...], first: int, end: int) -> Iterator[Gap]:
    """Yield the gaps that have marks from `first` up to `end`, whole; all of an open run."""
    around = once_round(track, tabs_nm)
    if not track.run.closed:
        yield from around
        return
    for turn in range(first // track.count - 1, (end - 1) // track.count + 1):
        for gap in around:
            moved = turn * track.count
            if gap.end + moved > first and gap.first + moved < end:
                yield _moved(gap, moved) if moved else gap


def _moved(gap: Gap, marks: int) -> Gap:
    """Return a gap so many marks further on."""
    return Gap(
        first=gap.first + marks,
        end=gap.end + marks,
        wide=gap.wide,
        within=gap.within + marks if gap.wide else 0,
        secure=gap.secure + marks if gap.wide else 0,
    )


def _gap(track: Track, before: int, after: int, *, wide: bool) -> Gap:
    """Return one gap between two bounds, with its own marks and limits."""
    first, end = track.first_mark(before), track.first_mark(after)
    if before == 0 and not track.run.closed:
        first = 0
    if not wide:
        return Gap(first=first, end=end, wide=False)
    within = min(track.last_mark(track.reach_from(before)) + 1, end)
    low, high = first, end
    while low < high:
        middle = (low + high) // 2
        if track.reach_from(track.position(middle)) >= after:
            high = middle
        else:
            low = middle + 1
    return Gap(first=first, end=end, wide=True, within=within, secure=low)
