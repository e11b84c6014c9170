"""Where frame clips hold the channel: on racking without rails, along each straight stretch."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

import msgspec

from gapwright.calc.layout.runs import PlacedRun
from gapwright.calc.outline import Spot
from gapwright.calc.outline.nearness import near_each
from gapwright.calc.pieces import PieceLayout
from gapwright.quantity.show import NM_PER_IN
from gapwright.quantity.whole import whole

Interval = tuple[int, int]

_BESIDE_NM = 3 * NM_PER_IN
"""How far from a side a wire clip or module clamp can be that is fixed to the frame there."""


class ClipRules(msgspec.Struct, frozen=True, kw_only=True):
    """How clips are spaced [nm].

    Clips are at most `spacing_nm` apart, `setback_nm` from corners, free ends and overlaps, and
    `clear_nm` from a wire clip or module clamp. They are placed in steps of `mark_nm`.
    """

    spacing_nm: int
    setback_nm: int
    clear_nm: int
    mark_nm: int


def clips_on(
    placed: PlacedRun, layout: PieceLayout, clamps: Sequence[Spot], rules: ClipRules
) -> tuple[int, ...]:
    """Return where the clips of a run are, in order along it [nm].

    `clamps` are the wire clips and module clamps of the plane. Errors: InvalidRequestError where
    more of them lie near sides than can be looked at.
    """
    sides = [(side.start, side.end) for side in placed.sides]
    near = near_each(sides, [(at, at) for at in clamps], _BESIDE_NM, "module_clamps")
    length = placed.run.length_nm
    overlaps = [
        (overlap.end_nm - overlap.overlap_nm + turn, overlap.end_nm + turn)
        for overlap in layout.overlaps
        for turn in ((0, length) if placed.run.closed else (0,))  # a seam can lie over the origin
    ]
    found: list[int] = []
    ends = [*placed.starts_nm[1:], length]
    for number, (start, end) in enumerate(zip(placed.starts_nm, ends, strict=True)):
        avoid = [start + _along(*sides[number], clamps[at]) for at in near[number]]
        own = [(max(a, start), min(b, end)) for a, b in overlaps if a < end and start < b]
        found += place_clips((start, end), own, avoid, rules)
    return tuple(found)


def _along(start: Spot, end: Spot, spot: Spot) -> int:
    """Return how far along a side a spot beside it lies [nm]."""
    across, up = end[0] - start[0], end[1] - start[1]
    dot = (spot[0] - start[0]) * across + (spot[1] - start[1]) * up
    return round(dot / hypot(across, up))


def place_clips(
    stretch: Interval,
    overlaps: Sequence[Interval],
    avoid_nm: Sequence[int],
    rules: ClipRules,
) -> tuple[int, ...]:
    """Return the positions of the clips along a straight stretch from corner to corner [nm].

    There is one at the setback from each end and one on each side of each overlap, and as many
    between them as the spacing asks for. A stretch too short for two has one in the middle.
    `overlaps` are those on the stretch, `avoid_nm` the wire clips and module clamps near it. Where
    these leave no place within the spacing, the next clip comes right after them.
    """
    start, end = stretch
    setback = rules.setback_nm
    first, last = start + setback, end - setback
    wanted = {first, last}
    for low, high in overlaps:
        wanted |= {max(low - setback, first), min(high + setback, last)}
    if first > last:
        wanted = {(start + end) // 2}
    blocked = _blocked(avoid_nm, rules.clear_nm)
    clear = {at: _clear_of(at, blocked, stretch) for at in wanted}
    fixed = sorted({at if place is None else place for at, place in clear.items()})
    between = (at for pair in pairwise(fixed) for at in _between(*pair, blocked, rules))
    return tuple(sorted({*fixed, *between}))


def _blocked(avoid_nm: Sequence[int], clear_nm: int) -> list[Interval]:
    """Return where no clip may be, in order; what lies between two is free, and so are the ends."""
    found: list[Interval] = []
    for at in sorted(avoid_nm):
        low, high = at - clear_nm, at + clear_nm
        if found and low < found[-1][1]:
            low = found.pop()[0]
        found.append((low, high))
    return found


def _between(low: int, high: int, blocked: Sequence[Interval], rules: ClipRules) -> Iterator[int]:
    """Yield evenly spaced positions between two clips, no two further apart than the spacing."""
    at = low
    while high - at > rules.spacing_nm:
        step = (high - at) // whole(high - at, rules.spacing_nm)
        even = at + max(step // rules.mark_nm, 1) * rules.mark_nm
        place = _clear_of(even, blocked, (at + 1, at + rules.spacing_nm))
        if place is None:
            place = _clear_of(even, blocked, (at + 1, high - 1))
        if place is None:
            return
        at = place
        yield at


def _clear_of(at: int, blocked: Sequence[Interval], within: Interval) -> int | None:
    """Return the nearest position that is not blocked, None if there is none."""
    number = bisect_left(blocked, (at, at)) - 1
    places: tuple[int, ...] = (at,)
    if number >= 0 and blocked[number][0] < at < blocked[number][1]:
        places = blocked[number]
    free = [place for place in places if within[0] <= place <= within[1]]
    return min(free, key=lambda place: abs(place - at), default=None)
