from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from service.drawing.room import Room, along
from tests.unit.measures import STEADY

SPOTS = st.floats(-300, 300).map(lambda value: round(value, 1))
PATCHES = st.tuples(SPOTS, SPOTS, st.floats(0.5, 200), st.floats(0.5, 200)).map(
    lambda box: (box[0], box[1], box[0] + box[2], box[1] + box[3])
)


def touch(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@STEADY
@given(st.lists(PATCHES, max_size=12), st.lists(PATCHES, max_size=12), PATCHES)
def test_a_place_is_free_where_nothing_taken_overlaps_it(first, then, asked):
    room = Room()
    room.take(first)
    before = room.count()
    room.take(then)
    assert room.is_free([asked]) == (not any(touch(asked, patch) for patch in first + then))
    room.back_to(before)
    assert room.is_free([asked]) == (not any(touch(asked, patch) for patch in first))
    if first:
        lefts, tops, rights, bottoms = zip(*first, strict=True)
        assert room.extent() == (min(lefts), min(tops), max(rights), max(bottoms))


def test_what_is_kept_free_does_not_widen_the_page():
    room = Room()
    room.take([(0, 0, 10, 10)])
    room.keep([(500, 0, 510, 10)])
    assert not room.is_free([(505, 5, 506, 6)])
    assert room.extent() == (0, 0, 10, 10)


@STEADY
@given(SPOTS, SPOTS, SPOTS, SPOTS, st.floats(1, 8), st.floats(0, 1))
def test_patches_along_a_line_cover_it(ax, ay, bx, by, half, share):
    x, y = ax + (bx - ax) * share, ay + (by - ay) * share
    slack = 1e-6
    assert any(
        left - slack <= x <= right + slack and top - slack <= y <= bottom + slack
        for left, top, right, bottom in along((ax, ay), (bx, by), half)
    )
