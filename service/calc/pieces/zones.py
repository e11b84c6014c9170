"""How lap and span change along a run: the stricter counts where one touches two zones."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

import msgspec

from service.calc.pieces.run import PieceRules, Run, Zone


class LapStretch(msgspec.Struct, frozen=True, kw_only=True):
    """Piece ends from `first_nm` to `last_nm`, both included, take the lap `lap_nm`."""

    first_nm: int
    last_nm: int
    lap_nm: int


class SpanStretch(msgspec.Struct, frozen=True, kw_only=True):
    """Fixings from `first_nm` to `last_nm` reach `span_nm` on, or else to `until_nm`."""

    first_nm: int
    last_nm: int
    span_nm: int | None = None
    until_nm: int | None = None


def rounded_up(length_nm: int, grid_nm: int) -> int:
    """Return `length_nm` rounded up to the tape's marks [nm]."""
    return -(-length_nm // grid_nm) * grid_nm


def longest_lap_nm(run: Run, rules: PieceRules) -> int:
    """Return the longest lap of a run's zones, rounded up to the tape [nm]."""
    return max(rounded_up(zone.lap_nm, rules.grid_nm) for zone in run.zones)


def lap_stretches(run: Run, grid_nm: int) -> list[LapStretch]:
    """Return the lap of every piece end in (0, length], rounded up to the grid [nm].

    The lap lies before the piece's end. It is the shortest lap that is long enough for every
    zone it lies in for more than a point.
    """
    found: list[LapStretch] = []
    for index, zone in enumerate(run.zones):
        first, last = zone.start_nm + 1, zone.end_nm
        lap = rounded_up(zone.lap_nm, grid_nm)
        for start, lap_before in _zones_behind(run, index):
            within = max(first, start + lap)
            if within <= last:
                found.append(LapStretch(first_nm=within, last_nm=last, lap_nm=lap))
                last = within - 1
            if first > last:
                break
            lap = max(lap, rounded_up(lap_before, grid_nm))
        if first <= last:
            found.append(LapStretch(first_nm=first, last_nm=last, lap_nm=lap))
    return sorted(found, key=lambda stretch: stretch.first_nm)


def lap_at(stretches: list[LapStretch], at_nm: int) -> int:
    """Return the lap of a piece that ends at `at_nm` in (0, length] [nm]."""
    after = bisect_right(stretches, at_nm, key=lambda stretch: stretch.first_nm)
    return stretches[after - 1].lap_nm


def span_stretches(run: Run) -> list[SpanStretch]:
    """Return how far the next fixing may be from a fixing at each position in [0, length).

    No limit is written as three times the run, which is beyond any distance on it.
    """
    far = 3 * run.length_nm
    found: list[SpanStretch] = []
    for index, zone in enumerate(run.zones):
        first, last, span = zone.start_nm, zone.end_nm - 1, zone.span_nm or far
        for end, following in _zones_ahead(run, index):
            free = min(last, end - span)
            if first <= free:
                found.append(SpanStretch(first_nm=first, last_nm=free, span_nm=span))
            first = max(first, end - span + 1)
            span = min(span, following.span_nm or far)
            held = min(last, end - span)
            if first <= held:
                found.append(SpanStretch(first_nm=first, last_nm=held, until_nm=end))
            first = max(first, end - span + 1)
            if first > last:
                break
        if first <= last:
            found.append(SpanStretch(first_nm=first, last_nm=last, span_nm=span))
    return sorted(found, key=lambda stretch: stretch.first_nm)


def reach_from(stretches: list[SpanStretch], run: Run, at_nm: int) -> int:
    """Return the furthest position of the fixing that follows one at `at_nm` [nm].

    On a closed loop positions go on counting past the origin.
    """
    laps_round, here = divmod(at_nm, run.length_nm) if run.closed else (0, at_nm)
    after = bisect_right(stretches, here, key=lambda stretch: stretch.first_nm)
    stretch = stretches[after - 1]
    if stretch.until_nm is not None:
        return stretch.until_nm + laps_round * run.length_nm
    return at_nm + (stretch.span_nm or 0)


def _zones_behind(run: Run, index: int) -> Iterator[tuple[int, int]]:
    """Yield where the zone and those behind it start, each with the lap of the one before."""
    while index > 0 or run.closed:
        turns, place = divmod(index, len(run.zones))
        before = run.zones[(index - 1) % len(run.zones)]
        yield run.zones[place].start_nm + turns * run.length_nm, before.lap_nm
        index -= 1


def _zones_ahead(run: Run, index: int) -> Iterator[tuple[int, Zone]]:
    """Yield where the zone and those ahead of it end, each with the zone that follows."""
    count = len(run.zones)
    while index < count - 1 or run.closed:
        turns, place = divmod(index, count)
        yield run.zones[place].end_nm + turns * run.length_nm, run.zones[(index + 1) % count]
        index += 1


def tightest_span(run: Run, start_nm: int, end_nm: int) -> int | None:
    """Return the shortest span of the zones between two positions [nm]; None sets no limit."""
    spans = [
        zone.span_nm
        for turn in ((0, run.length_nm) if run.closed else (0,))
        for zone in run.zones
        if zone.span_nm is not None
        and min(zone.end_nm + turn, end_nm) > max(zone.start_nm + turn, start_nm)
    ]
    return min(spans, default=None)
