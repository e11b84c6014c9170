"""Lap and span along a run, against the rule read straight off the zones."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from gapwright.calc.pieces.run import Run, RunZone
from gapwright.calc.pieces.zones import ZoneMap
from hypothesis import given, settings
from hypothesis import strategies as st


@st.composite
def zoned_runs(draw):
    length = draw(st.integers(3, 60))
    cuts = draw(st.sets(st.integers(1, length - 1), max_size=4))
    zones = tuple(
        RunZone(
            start_nm=low,
            end_nm=high,
            overlap_nm=draw(st.integers(1, 9)),
            span_nm=draw(st.none() | st.integers(4, 30)),
        )
        for low, high in pairwise(sorted({0, length, *cuts}))
    )
    return Run(length_nm=length, closed=draw(st.booleans()), zones=zones)


def touched(run: Run, low: int, high: int) -> list[RunZone]:
    turns = range(-12, 13) if run.closed else (0,)
    return [
        zone
        for zone in run.zones
        if any(
            low < zone.end_nm + turn * run.length_nm and zone.start_nm + turn * run.length_nm < high
            for turn in turns
        )
    ]


@settings(deadline=None)
@given(zoned_runs(), st.integers(1, 4), st.integers(0, 30))
def test_the_longest_lap_counts_of_every_zone_that_an_overlap_lies_in(run, grid, covered):
    zones = ZoneMap(run, 0)
    for end in range(min(covered, run.length_nm) + 1, run.length_nm + 1):
        start = end - covered - 1
        (found,) = zones.overlap(np.array([start]), np.array([end]), grid)
        assert found == max(-(-zone.overlap_nm // grid) * grid for zone in touched(run, start, end))


@settings(deadline=None)
@given(zoned_runs())
def test_a_fixing_reaches_as_far_as_every_zone_on_the_way_allows(run):
    last = 2 * run.length_nm if run.closed else run.length_nm
    reach = ZoneMap(run, 0).reach(np.arange(last))
    for fixing, reached in enumerate(reach.tolist()):
        for following in range(fixing + 1, min(last, fixing + run.length_nm) + 1):
            spans = [zone.span_nm for zone in touched(run, fixing, following) if zone.span_nm]
            assert (following <= reached) == all(following - fixing <= span for span in spans)
