"""Hops over plain laps between two returns, against a search pair by pair."""

from __future__ import annotations

import random

import pytest

from service.calc.pieces.gaps import Gap
from service.calc.pieces.hops import hops
from service.calc.pieces.run import KeepOff, PieceRules, Reach, Run, Zone
from service.calc.pieces.track import Track


def bare_loop(seed: int) -> Track:
    """A loop without tabs on a grid of 2, with points that take places away."""
    rng = random.Random(seed)
    length = rng.randint(24, 41)
    edge = rng.randint(4, length - 4)
    zones = tuple(
        Zone(start_nm=low, end_nm=high, lap_nm=rng.choice([2, 4]), span_nm=rng.randint(8, 18))
        for low, high in ((0, edge), (edge, length))
    )
    run = Run(
        length_nm=length,
        closed=True,
        zones=zones,
        reaches=(Reach(start_nm=0, end_nm=length, return_nm=rng.choice([3, 5])),),
        keep_off=tuple(
            KeepOff(at_nm=rng.randrange(length), distance_nm=rng.randint(0, 2)) for _ in range(2)
        ),
    )
    return Track(run, PieceRules(piece_nm=rng.randint(8, 14), grid_nm=2, least_piece_nm=6))


def fewest_laps(track: Track, first: int, second: int, length: int) -> tuple[int, int] | None:
    """The fewest plain laps between two returns, and their least sum, by trying all of them."""
    best: tuple[int, int] | None = None
    ways = [(first, 0, 0)]
    while ways:
        at, laps, total = ways.pop()
        covered = track.position(second) - track.position(at) + lap_on(track, at)
        if track.least_nm <= covered <= track.piece_nm - length:
            best = min(best or (laps, total), (laps, total))
        for further in range(at + 1, second):
            covered = track.position(further) - track.position(at) + lap_on(track, at)
            if has_place(track, further) and track.least_nm <= covered <= track.piece_nm:
                ways.append((further, laps + 1, total + lap_on(track, further)))
    return best


def lap_on(track: Track, mark: int) -> int:
    return track.lap_at(track.position(mark))


def has_place(track: Track, mark: int) -> bool:
    return any(track.part(marks, mark, 1) for marks in track.plain.values())


def keeps_a_span(track: Track, mark: int) -> bool:
    """Whether the next fixing may be a span on, and not just up to where a zone begins."""
    here = track.position(mark) % track.run.length_nm
    (stretch,) = [part for part in track.spans if part.first_nm <= here <= part.last_nm]
    return stretch.span_nm is not None


@pytest.mark.parametrize("seed", range(40))
def test_hops_join_the_returns_that_no_one_piece_joins_and_no_others(seed):
    track = bare_loop(seed)
    gap = Gap(first=0, end=track.count + 8, wide=True, within=0, secure=track.count + 8)
    joined: dict[tuple[int, int], tuple[int, int]] = {}
    for hop in hops(track, gap):
        assert not hop.joined & hop.barred
        for first in range(gap.end - hop.low):
            if hop.joined >> first & 1:
                assert lap_on(track, first) == hop.lap_nm
                assert lap_on(track, first + hop.low) == hop.end_lap_nm
                joined[first, first + hop.low] = hop.laps, hop.between_nm
    length = track.run.reaches[0].return_nm
    marks = [mark for mark in range(gap.end) if has_place(track, mark)]
    for first in [mark for mark in marks if keeps_a_span(track, mark)]:
        for second in [mark for mark in marks if mark > first]:
            apart = track.position(second) - track.position(first)
            straight = apart + lap_on(track, first) <= track.piece_nm - length
            near = track.position(second) <= track.reach_from(track.position(first))
            wanted = fewest_laps(track, first, second, length) if near and not straight else None
            assert joined.pop((first, second), None) == wanted, (first, second)
    assert not joined


@pytest.mark.parametrize("seed", range(40))
def test_a_hop_bars_every_start_with_a_return_ahead_that_it_does_not_join(seed):
    track = bare_loop(seed)
    gap = Gap(first=0, end=track.count + 8, wide=True, within=0, secure=track.count + 8)
    for hop in hops(track, gap):
        ends = track.part(track.returns[hop.end_lap_nm, hop.return_nm], 0, gap.end)
        for first in range(gap.end - hop.low):
            starts = has_place(track, first) and keeps_a_span(track, first)
            if starts and lap_on(track, first) == hop.lap_nm and ends >> first + hop.low & 1:
                assert (hop.joined | hop.barred) >> first & 1
