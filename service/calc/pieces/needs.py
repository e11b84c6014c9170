"""The fewest returns that each wide gap takes, wherever pieces break."""

from __future__ import annotations

from typing import NamedTuple

from service.calc.pieces.gaps import Gap, once_round
from service.calc.pieces.marks import ones
from service.calc.pieces.track import Track


class Need(NamedTuple):
    """How many returns a wide gap takes at least, and the mesh of each [nm]."""

    returns: int
    return_nm: int


def needs_of(track: Track, tabs_nm: tuple[int, ...]) -> dict[int, Need] | None:
    """Return what each wide gap of a closed loop takes, by the gap's `within`, once round.

    None where a gap has returns of several lengths, or too few to reach over it. A return that
    leaves its piece less than the least is none.
    """
    found: dict[int, Need] = {}
    for gap in once_round(track, tabs_nm):
        if gap.wide:
            need = _need(track, gap)
            if need is None:
                return None
            found[gap.within % track.count] = need
    return found


def _need(track: Track, gap: Gap) -> Need | None:
    """Return what one gap takes: each return as far on as the span lets it be."""
    parts = [
        (length, part)
        for (_, length), marks in track.returns.items()
        if track.holds(length) and (part := track.part(marks, gap.first, gap.end - gap.first))
    ]
    if len(parts) != 1:
        return None
    [(length, returns)] = parts
    count, before, end = 1, gap.first - 1, gap.within
    while True:
        at = gap.first + (returns & ones(end - gap.first)).bit_length() - 1
        if at <= before:
            return None
        if at >= gap.secure:
            return Need(count, length)
        count, before = count + 1, at
        end = track.last_mark(track.reach_from(track.position(at))) + 1
