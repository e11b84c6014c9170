"""How far the span rule lets the next fixing be, for all marks of a stretch."""

from __future__ import annotations

import msgspec

from service.calc.pieces.track import Track


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """From marks `first` to `last` the next fixing may be `span_nm` on, or up to mark `until`.

    The latter is so where a zone with a shorter span begins, which the next fixing may just
    reach from all of them.
    """

    first: int
    last: int
    span_nm: int | None
    until: int


def limits(track: Track, first: int, end: int) -> list[Limit]:
    """Return the limits from all marks from `first` up to `end`."""
    length = track.run.length_nm
    turns = range(1)
    if track.run.closed:
        turns = range(first // track.count, (end - 1) // track.count + 1)
    found = []
    for turn in turns:
        for stretch in track.spans:
            low = max(track.first_mark(turn * length + stretch.first_nm), first)
            high = min(track.last_mark(turn * length + stretch.last_nm), end - 1)
            until = track.last_mark(turn * length + (stretch.until_nm or 0))
            if low <= high:
                found.append(Limit(first=low, last=high, span_nm=stretch.span_nm, until=until))
    return found
