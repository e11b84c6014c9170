from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.calc.clearance import judge, judge_together
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.make import values
from tests.unit.measures import IN, STEADY, inches

BASELINE = values()
READINGS = st.lists(
    st.integers(2, 36 * 16).map(lambda marks: marks * IN // 16), min_size=1, max_size=40
)
DROPS = st.integers(0, 3 * IN)
SHARES = st.fractions(0, 1)


def judged(*readings, rules=BASELINE):
    return judge([inches(reading) for reading in readings], rules)


def isolated(clearance):
    return [spot.reading for spot in clearance.isolated]


def test_the_largest_reading_governs_and_the_smallest_is_the_tightest():
    clearance = judged("4 1/2", "4 1/4", "4 3/8")
    assert clearance.governing.nm == inches("4 1/2")
    assert clearance.smallest.nm == inches("4 1/4")
    assert clearance.isolated == ()


def test_one_reading_is_both():
    clearance = judged("4 1/2")
    assert clearance.governing.nm == clearance.smallest.nm == inches("4 1/2")


def test_one_tight_spot_near_a_ridge_does_not_govern_the_web():
    clearance = judged("4 1/2", "4 1/4", "2 1/2", "4 1/2", "4 3/8")
    assert clearance.smallest.nm == inches("4 1/4")
    ((at, nm),) = ((spot.reading, spot.nm) for spot in clearance.isolated)
    assert (at, nm) == (2, inches("2 1/2"))


def test_two_tight_spots_in_eight_stand_alone_and_three_do_not():
    assert isolated(judged("4", "4", "4", "4", "4", "4", "2", "2")) == [6, 7]
    assert judged("4", "4", "4", "4", "4", "2", "2", "2").smallest.nm == inches("2")


@pytest.mark.parametrize(("low", "alone"), [("3", True), ("3 1/64", False)])
def test_a_tight_spot_lies_at_least_an_inch_below_the_middle_reading(low, alone):
    assert bool(judged("4", "4", "4", "4", low).isolated) is alone


def test_of_two_middle_readings_the_lower_one_is_the_measure():
    assert isolated(judged("3 1/4", "4", "5", "6")) == []
    assert isolated(judged("3", "4", "5", "6")) == [0]


def test_with_two_or_three_readings_none_can_be_called_isolated():
    assert judged("1", "4").isolated == ()
    assert judged("4", "4", "1").smallest.nm == inches("1")


def test_one_high_reading_governs_however_alone_it_is():
    assert judged("4", "4", "4", "4", "9").governing.nm == inches("9")


def test_the_drop_and_the_share_are_the_rule_sets_own():
    readings = ("4", "4", "4", "4", "2 1/2", "2 1/2")
    assert isolated(judged(*readings)) == []
    generous = values(tight_spot_share=Fraction(1, 3))
    assert isolated(judged(*readings, rules=generous)) == [4, 5]
    deep = values(tight_spot_share=Fraction(1, 3), tight_spot_drop=2 * IN)
    assert isolated(judged(*readings, rules=deep)) == []


@STEADY
@given(READINGS, st.randoms(use_true_random=False))
def test_the_order_in_which_readings_are_taken_does_not_matter(readings, chance):
    shuffled = list(readings)
    chance.shuffle(shuffled)
    first, second = judge(readings, BASELINE), judge(shuffled, BASELINE)
    assert first.governing.nm == second.governing.nm
    assert first.smallest.nm == second.smallest.nm
    assert sorted(s.nm for s in first.isolated) == sorted(s.nm for s in second.isolated)


@STEADY
@given(READINGS, DROPS, SHARES)
def test_every_reading_either_counts_or_is_listed_as_isolated(readings, drop, share):
    clearance = judge(readings, values(tight_spot_drop=drop, tight_spot_share=share))
    alone = {spot.reading for spot in clearance.isolated}
    counted = [nm for at, nm in enumerate(readings) if at not in alone]
    assert clearance.smallest.nm == min(counted)
    assert clearance.governing.nm == max(readings) == max(counted)
    assert all(readings[s.reading] == s.nm < clearance.smallest.nm for s in clearance.isolated)
    assert len(alone) <= share * len(readings)


def test_readings_that_are_all_alike_all_count_whatever_the_rule_set_calls_isolated():
    rules = values(tight_spot_drop=0, tight_spot_share=Fraction(1))
    assert judged("4", "4", "4", rules=rules).smallest.nm == inches("4")


def test_a_place_that_is_low_all_along_is_no_tight_spot_of_another():
    places = [[6 * IN] * 5, [inches("3 1/2")], [6 * IN, 6 * IN, 6 * IN, 2 * IN]]
    clearance = judge_together(places, BASELINE)
    assert clearance.governing.nm == 6 * IN
    assert clearance.smallest.nm == inches("3 1/2")
    assert isolated(clearance) == [9], "positions count through the places"
