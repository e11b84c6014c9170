"""What is near what is found as if everything were looked at."""

from __future__ import annotations

import pytest
from gapwright.calc.outline import nearness
from gapwright.calc.outline.nearness import near_each
from gapwright.errors import InvalidRequestError
from hypothesis import given, settings
from hypothesis import strategies as st

PLACES = st.tuples(st.integers(-50, 50), st.integers(-50, 50))
STRAIGHT = st.lists(st.tuples(PLACES, PLACES), min_size=1, max_size=90)


def beside(one, other, reach):
    return all(
        min(one[0][axis], one[1][axis]) - reach <= max(other[0][axis], other[1][axis])
        and min(other[0][axis], other[1][axis]) <= max(one[0][axis], one[1][axis]) + reach
        for axis in (0, 1)
    )


@settings(deadline=None)
@given(STRAIGHT, STRAIGHT, st.integers(0, 20))
def test_every_thing_within_reach_is_found_and_no_other(asked, things, reach):
    plainly = [[n for n, thing in enumerate(things) if beside(one, thing, reach)] for one in asked]
    assert near_each(asked, things, reach, "rails") == plainly


def test_without_things_there_is_nothing_near():
    assert near_each([((0, 0), (1, 1))], [], 5, "rails") == [[]]


def test_more_meetings_than_can_be_looked_at_are_refused(monkeypatch):
    monkeypatch.setattr(nearness, "MOST_MEETINGS", 99)
    line = ((0, 0), (9, 0))
    assert near_each([line] * 9, [line] * 11, 0, "rails") == [list(range(11))] * 9
    with pytest.raises(InvalidRequestError) as caught:
        near_each([line] * 10, [line] * 10, 0, "rails")
    assert caught.value.faults[0].path == ("rails",)
