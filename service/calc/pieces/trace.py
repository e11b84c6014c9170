"""The way back: the piece ends of the layout that a search found."""

from __future__ import annotations

import msgspec

from service.calc.pieces.search import Found, Search, Step
from service.calc.pieces.track import Track


class End(msgspec.Struct, frozen=True, kw_only=True):
    """The end of a piece on the tape, with the length of the return made of it, if any."""

    mark: int
    return_nm: int | None = None


def ends_of(search: Search, found: Found) -> tuple[int, list[End]]:
    """Return the mark where a layout starts and the ends of its pieces, in order.

    Of ends that cost the same the one furthest along the run is taken, from the last piece
    back to the first.
    """
    width = search.board.width
    place, start = divmod(found.bit, width)
    at = (found.cost, found.cell, found.kind)
    mark = search.cells[found.cell].first + place
    ends: list[End] = []
    while at[0]:
        step, before = _step_onto(search, at, mark, start)
        ends.append(End(mark=mark, return_nm=step.onto.return_nm))
        ends += [End(mark=lap) for lap in _laps_between(search.board.track, step, before, mark)]
        at, mark = step.source, before
    return mark, ends[::-1]


def _step_onto(search: Search, at: tuple[int, int, int], mark: int, start: int) -> tuple[Step, int]:
    """Return the first step recorded that leads onto a mark, and the last mark it comes from."""
    width, here = search.board.width, search.cells[at[1]]
    for step in search.steps[at]:
        if not step.onto.marks >> (mark - here.first) * width + start & 1:
            continue
        first = search.cells[step.source[1]].first
        low, high = max(mark - step.high - first, 0), mark - step.low - first
        for place in range(high, low - 1, -1):
            if step.marks >> place * width + start & 1:
                return step, first + place
    raise AssertionError


def _laps_between(track: Track, step: Step, before: int, mark: int) -> list[int]:
    """Return the plain laps of a step over some, last first."""
    if not step.laps:
        return []
    wanted = (before, step.laps, step.between_nm)
    found = _chain(track, wanted, mark, step.onto.return_nm or 0)
    return found or []


def _chain(track: Track, wanted: tuple[int, int, int], mark: int, length: int) -> list[int] | None:
    """Return laps from `mark` back to the first return, last first, or None."""
    before, laps, total = wanted
    if not laps:
        return [] if not total and _joins(track, before, mark, length) else None
    for place in range(mark - 1, before, -1):
        lap = _plain_lap(track, place)
        if lap is None or lap > total or not _joins(track, place, mark, length):
            continue
        rest = _chain(track, (before, laps - 1, total - lap), place, 0)
        if rest is not None:
            return [place, *rest]
    return None


def _joins(track: Track, before: int, mark: int, length: int) -> bool:
    """Return whether one piece reaches from one end to the next."""
    covered = track.position(mark) - track.position(before) + track.lap_at(track.position(before))
    return track.least_nm <= covered <= track.piece_nm - length


def _plain_lap(track: Track, mark: int) -> int | None:
    for lap, marks in track.plain.items():
        if track.part(marks, mark, 1):
            return lap
    return None
