from __future__ import annotations

from gapwright.drawing.placement import Label, Occupancy, place
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import STEADY

COORDINATES = st.floats(-300, 300).map(lambda value: round(value, 1))
BOXES = st.tuples(COORDINATES, COORDINATES, st.floats(0.5, 200), st.floats(0.5, 200)).map(
    lambda box: (box[0], box[1], box[0] + box[2], box[1] + box[3])
)


def touch(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@STEADY
@given(st.lists(BOXES, max_size=12), st.lists(BOXES, max_size=12), BOXES)
def test_a_box_is_free_where_nothing_occupied_overlaps_it(first, then, asked):
    occupancy = Occupancy()
    occupancy.occupy(first)
    assert occupancy.is_free([asked]) == (not any(touch(asked, box) for box in first))
    occupancy.occupy(then)
    assert occupancy.is_free([asked]) == (not any(touch(asked, box) for box in first + then))
    lefts, tops, rights, bottoms = zip((0, 0, 0, 0), *first, *then, strict=True)
    assert occupancy.extent == (min(lefts), min(tops), max(rights), max(bottoms))


def test_what_is_reserved_does_not_widen_the_page():
    occupancy = Occupancy()
    occupancy.occupy([(0, 0, 10, 10)])
    occupancy.reserve((500, 0, 510, 10))
    assert not occupancy.is_free([(505, 5, 506, 6)])
    assert occupancy.extent == (0, 0, 10, 10)


def label(x, y=0, leader=None):
    return Label(text="A1", kind="t b", center=(x, y), leader=leader)


def test_a_label_takes_the_first_free_position_or_none():
    occupancy = Occupancy()
    labels = [label(x) for x in (0, 5, 200)]
    assert place(labels, occupancy).center == (0, 0)
    assert place(labels, occupancy).center == (200, 0)
    assert place(labels, occupancy) is None


def test_a_label_s_leader_is_free_and_occupied_as_well():
    occupancy = Occupancy()
    occupancy.occupy([(0, 40, 10, 50)])
    free = label(0, leader=((-5, 20), (-5, 60)))
    assert place([label(0, leader=((5, 20), (5, 60))), free], occupancy) == free
    assert not occupancy.is_free([(-6, 50, -4, 52)])


def test_after_so_many_queries_nothing_more_is_placed():
    occupancy = Occupancy()
    occupancy.occupy([(-50, -50, 50, 50)])
    assert place([label(0)] * (Occupancy.MAX_QUERIES + 1), occupancy) is None
    assert place([label(500)], occupancy) is None
