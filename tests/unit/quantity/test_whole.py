from __future__ import annotations

from gapwright.quantity.whole import whole
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, STEADY

COUNTS = st.integers(min_value=1, max_value=10**15)


@STEADY
@given(needed=st.integers(min_value=0, max_value=10**18), each=COUNTS)
def test_a_whole_count_covers_the_need_and_one_fewer_does_not(needed, each):
    count = whole(needed, each)
    assert count * each >= needed
    assert (count - 1) * each < needed


@STEADY
@given(count=COUNTS, each=COUNTS)
def test_what_divides_evenly_is_never_rounded_up(count, each):
    assert whole(count * each, each) == count


def test_seven_spans_of_three_tenths_are_seven():
    assert whole(2_100_000_000, 300_000_000) == 7


def test_nothing_needed_takes_nothing():
    assert whole(0, 6 * FT) == 0
