from __future__ import annotations

import itertools
from math import hypot

from gapwright.drawing.geometry import boxes_along, inward, offset_line, outward
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.unit.measures import STEADY

COORDINATES = st.floats(-300, 300).map(lambda value: round(value, 1))
SQUARE = [(0.0, 100.0), (200.0, 100.0), (200.0, 0.0), (0.0, 0.0), (0.0, 100.0)]
"""Round an array anticlockwise on the page: along the eave, up, along the ridge, down."""


def test_outward_points_away_from_an_array_on_the_left():
    ways = [outward(part) for part in itertools.pairwise(SQUARE)]
    assert ways == [(0, 1), (1, 0), (0, -1), (-1, 0)]


def test_nothing_is_beside_a_loop_that_is_too_narrow():
    hole = [(0.0, 15.0), (0.0, 0.0), (15.0, 0.0), (15.0, 15.0), (0.0, 15.0)]
    assert offset_line(hole, 10) == []


def test_a_loop_beside_a_loop_has_sharp_corners_and_closes():
    line = offset_line(SQUARE, 10)
    assert line[1:-1] == [(210, 110), (210, -10), (-10, -10), (-10, 110)]
    assert line[0] == (100, 110)
    assert hypot(line[-1][0] - 100, line[-1][1] - 110) < 0.5


def test_inside_corners_do_not_overshoot():
    assert offset_line([(0.0, 0.0), (50.0, 0.0), (50.0, 50.0)], 10)[1] == (40, 10)


def test_a_needle_is_cut_off():
    line = offset_line([(0.0, 0.0), (100.0, 0.0), (0.0, -1.0)], 10)
    assert all(hypot(x - 100, y) < 2.5 * 10 for x, y in line[1:3])


def test_a_straight_line_stays_beside():
    assert offset_line([(0.0, 0.0), (50.0, 0.0)], 4) == [(0, 4), (50, 4)]
    assert inward(((0.0, 0.0), (50.0, 0.0))) == (0, -1)


@STEADY
@given(COORDINATES, COORDINATES, COORDINATES, COORDINATES, st.floats(1, 8), st.floats(0, 1))
def test_boxes_along_a_line_cover_it(ax, ay, bx, by, half, share):
    x, y = ax + (bx - ax) * share, ay + (by - ay) * share
    slack = 1e-6
    assume((ax, ay) != (bx, by))
    assert any(
        left - slack <= x <= right + slack and top - slack <= y <= bottom + slack
        for left, top, right, bottom in boxes_along([(ax, ay), (bx, by)], half)
    )
