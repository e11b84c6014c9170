"""The way back: the piece ends of the layout that a search found."""

from __future__ import annotations

import msgspec

from service.calc.pieces.levels import Step
from service.calc.pieces.marks import spread
from service.calc.pieces.search import Found, Search
from service.calc.pieces.track import Track

Cost = tuple[int, int, int]
"""Pieces in overlong spans, pieces, and the mesh beyond what the run itself takes [nm]."""


class End(msgspec.Struct, frozen=True, kw_only=True):
    """The end of a piece on the tape, with the length of the return made of it, if any."""

    mark: int
    return_nm: int | None = None


class Best(msgspec.Struct, frozen=True, kw_only=True):
    """The ends of a layout's pieces from mark `start` on, and what it costs."""

    cost: Cost
    start: int
    ends: list[End]
    lacking_nm: tuple[int, ...]


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
        length = step.onto.return_nm or 0
        laps = laps_between(search.board.track, before, mark, step.laps, step.between_nm, length)
        ends += [End(mark=lap) for lap in laps]
        at, mark = step.source, before
    return mark, ends[::-1]


def _step_onto(search: Search, at: tuple[int, int, int], mark: int, start: int) -> tuple[Step, int]:
    """Return the first step recorded that leads onto a mark, and the last mark it comes from."""
    width, here = search.board.width, search.cells[at[1]]
    for step in search.levels.steps[at]:
        if not step.onto.marks >> (mark - here.first) * width + start & 1:
            continue
        first = search.cells[step.source[1]].first
        low, high = max(mark - step.high - first, 0), mark - step.low - first
        if high < low:
            continue
        same_start = spread(1, 0, high - low, width)
        marks = step.marks >> low * width + start & same_start
        if marks:
            return step, first + low + (marks.bit_length() - 1) // width
    raise AssertionError("every mark that was reached has a step onto it")


def laps_between(
    track: Track, before: int, mark: int, laps: int, total_nm: int, return_nm: int
) -> list[int]:
    """Return plain laps between two returns, each as far along as can be, last first.

    There are so many `laps`, of `total_nm` in all; the piece to the second return at `mark` also
    takes the return's mesh.
    """
    return (_WayBack(track, before).laps(mark, laps, total_nm, return_nm) or []) if laps else []


class _WayBack:
    """The way over plain laps back to the return they began at."""

    def __init__(self, track: Track, before: int) -> None:
        self.track, self.before = track, before
        self.failed: set[tuple[int, int, int]] = set()

    def laps(self, mark: int, count: int, total: int, length: int) -> list[int] | None:
        """Return `count` laps of `total` in all from `mark` back, last first, or None."""
        if not count:
            return [] if not total and _joins(self.track, self.before, mark, length) else None
        if (mark, count, total) in self.failed:
            return None
        nearest = max(self.before, mark - self.track.longest_step())
        for place in range(mark - 1, nearest, -1):
            lap = _plain_lap(self.track, place)
            if lap is None or lap > total or not _joins(self.track, place, mark, length):
                continue
            rest = self.laps(place, count - 1, total - lap, 0)
            if rest is not None:
                return [place, *rest]
        self.failed.add((mark, count, total))
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
