"""Laps as they are told: between which pieces, how long, and where."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.unit.calls.layouts import ARRAY, layout

VISIBLE = {"facings": [{"facing": "eave", "zone": "visible"}]}
OPEN = {"facings": [{"facing": "left", "open": True}]}
BY_EDGE = {"edges": [{"edge": "A2", "clearance": {"readings": ["7 1/4 in"]}}]}
BROKEN = {"facings": [{"facing": "ridge", "open": True}, {"facing": "eave", "open": True}]}


@pytest.mark.parametrize("more", [{}, VISIBLE, OPEN, BY_EDGE, BROKEN])
def test_a_piece_laps_the_piece_before_it_as_its_own_lap_and_its_marks_say(more):
    found = layout(**ARRAY, **more)
    own = {piece.piece: piece for piece in found.pieces}
    told = {lap.piece: lap for lap in found.laps}
    turned = {each.piece: each.length.value for each in found.returns if each.end == "start"}
    assert set(told) == {piece.piece for piece in found.pieces if piece.lap}
    for name, lap in told.items():
        assert lap.length == own[name].lap
        before = own[lap.over]
        (begins,) = (mark for mark in before.marks if mark.kind == "next_laps")
        reach = turned.get(lap.over, 0) + before.covers.value - begins.at.value
        assert reach == pytest.approx(lap.length.value, abs=2e-6)


@pytest.mark.parametrize("more", [{}, VISIBLE, OPEN, BY_EDGE, BROKEN])
def test_a_lap_is_told_where_both_its_pieces_lie(more):
    found = layout(**ARRAY, **more)
    lines = {
        each["properties"]["piece"]: each["geometry"]["coordinates"]
        for each in found.geometry[0].features["features"]
        if each["properties"]["kind"] == "piece"
    }
    for lap in found.laps:
        place = [at.value * 0.3048 for at in (lap.place.x, lap.place.y)]
        assert lines[lap.over][-1] == pytest.approx(place, abs=1e-5)
        assert _lies_on(place, lines[lap.piece])


def _lies_on(place, line):
    """Return whether a place is on a line of upright and level runs, to a hundredth of a mm."""
    x, y = place
    return any(
        min(a, c) - 1e-5 <= x <= max(a, c) + 1e-5 and min(b, d) - 1e-5 <= y <= max(b, d) + 1e-5
        for (a, b), (c, d) in pairwise(line)
    )
