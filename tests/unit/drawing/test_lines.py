from __future__ import annotations

from itertools import pairwise

from gapwright.drawing.canvas import boxes_along, unit
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import STEADY

COORDINATES = st.floats(-300, 300).map(lambda value: round(value, 1))


def test_a_right_angle_from_a_side_points_away_from_an_array_on_its_left():
    """Around an array counterclockwise on the page: along the eave, up, along the ridge, down."""
    square = [100j, 200 + 100j, 200, 0, 100j]
    away = [unit((a, b)) * 1j for a, b in pairwise(square)]
    assert away == [1j, 1, -1j, -1]


@STEADY
@given(COORDINATES, COORDINATES, COORDINATES, COORDINATES, st.floats(1, 8), st.floats(0, 1))
def test_boxes_along_a_line_cover_it(ax, ay, bx, by, half, share):
    start, end = complex(ax, ay), complex(bx, by)
    at = start + (end - start) * share
    slack = 1e-6
    assert any(
        left - slack <= at.real <= right + slack and top - slack <= at.imag <= bottom + slack
        for left, top, right, bottom in boxes_along([start, end], half)
    )


def test_a_point_has_one_box_around_it():
    assert list(boxes_along([3 + 4j], 2)) == [(1, 2, 5, 6)]
