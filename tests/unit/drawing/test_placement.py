from __future__ import annotations

from gapwright.drawing.canvas import Occupancy
from gapwright.drawing.labels import Label
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import STEADY

COORDINATES = st.floats(-300, 300).map(lambda value: round(value, 1))
SQUARES = st.tuples(st.builds(complex, COORDINATES, COORDINATES), st.floats(0.5, 100))


def box(square):
    at, half = square
    return at.real - half, at.imag - half, at.real + half, at.imag + half


def touch(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@STEADY
@given(st.lists(SQUARES, max_size=12), st.lists(SQUARES, max_size=12), SQUARES)
def test_a_place_is_free_where_nothing_occupied_overlaps_it(first, then, asked):
    occupancy = Occupancy()
    for squares in (first, then):
        for at, half in squares:
            occupancy.occupy([at], half)
        there = first if squares is first else first + then
        free = occupancy.is_free([asked[0]], asked[1])
        assert free == (not any(touch(box(asked), box(one)) for one in there))
    lefts, tops, rights, bottoms = zip((0, 0, 0, 0), *map(box, first + then), strict=True)
    assert occupancy.extent == (min(lefts), min(tops), max(rights), max(bottoms))


def test_what_is_reserved_does_not_widen_the_page():
    occupancy = Occupancy()
    occupancy.occupy([0, 10], 1)
    occupancy.occupy([500, 510], 1, extend=False)
    assert not occupancy.is_free([505], 1)
    assert occupancy.extent == (-1, -1, 11, 1)


def label(x, leader=None):
    return Label(text="A1", kind="t b", center=complex(x, 0), leader=leader)


def test_a_label_takes_its_place_if_that_is_free():
    occupancy = Occupancy()
    assert [label(x).place(occupancy) for x in (0, 5, 200, 200)] == [True, False, True, False]


def test_a_label_s_leader_is_free_and_occupied_as_well():
    occupancy = Occupancy()
    occupancy.occupy([5 + 45j], 5)
    assert not label(0, leader=(5 + 20j, 5 + 60j)).place(occupancy)
    assert label(0, leader=(-5 + 20j, -5 + 60j)).place(occupancy)
    assert not occupancy.is_free([-5 + 51j], 1)


def test_after_so_many_queries_nothing_is_free():
    occupancy = Occupancy()
    occupancy.occupy([0], 50)
    assert not any(label(0).place(occupancy) for _ in range(Occupancy.MAX_QUERIES))
    assert not label(500).place(occupancy)
