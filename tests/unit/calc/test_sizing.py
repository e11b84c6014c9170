from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.calc.channel import bend
from service.calc.sizing import required_width_nm, size, stocked_width_nm
from tests.unit.make import values
from tests.unit.measures import IN, STEADY, inches

BASELINE = values()
SNAPPED = values(snap_bends_to_wires=True)
WIDTHS = BASELINE.stocked_widths
MARKS = st.integers(8, 12 * 16).map(lambda marks: marks * IN // 16)
READINGS = st.lists(MARKS, min_size=1, max_size=12)
CROWDED = st.integers(76, 116).map(lambda marks: marks * IN // 16)
RULES = st.sampled_from([BASELINE, SNAPPED])
OFTEN = settings(STEADY, max_examples=150)


def sized(*readings, rules=BASELINE):
    return size([inches(reading) for reading in readings], rules)


def snug(strip, least, largest, rules):
    channel = bend(strip, least, largest, rules)
    return channel is not None and channel.snug


def counted(readings, sizing):
    alone = {at for at, _ in sizing.clearance.isolated}
    return {nm for at, nm in enumerate(readings) if at not in alone}


def beyond(sizing):
    """Return the readings that no stocked strip suits, as all the advice together tells them."""
    return [nm for advice in sizing.advice for nm in advice.beyond_nm]


def advised(sizing, kind):
    return next((advice for advice in sizing.advice if advice.kind == kind), None)


@pytest.mark.parametrize(
    ("gap", "strip"), [("2", "4"), ("4", "6"), ("6", "8"), ("8", "10"), ("10", "12")]
)
def test_a_clearance_exactly_on_a_stock_width_takes_that_width(gap, strip):
    sizing = sized(gap)
    assert sizing.required_nm == sizing.strip_nm == inches(strip)


@pytest.mark.parametrize(("gap", "strip"), [("2", "6"), ("4", "8"), ("6", "10"), ("8", "12")])
def test_a_hair_more_clearance_takes_the_next_width(gap, strip):
    assert stocked_width_nm(inches(gap) + 1, BASELINE) == inches(strip)


@pytest.mark.parametrize(
    ("strip", "common"), [("4", False), ("6", True), ("8", True), ("10", False), ("12", False)]
)
def test_six_and_eight_inches_are_the_common_widths(strip, common):
    assert size([inches(strip) - 2 * IN], BASELINE).common is common


@OFTEN
@given(READINGS)
def test_the_strip_is_the_narrowest_stocked_one_that_covers_every_reading_by_the_margin(readings):
    sizing = size(readings, BASELINE)
    enough = [width for width in WIDTHS if all(width - nm >= 2 * IN for nm in readings)]
    assert sizing.strip_nm == (enough[0] if enough else None)
    assert (
        sizing.required_nm == required_width_nm(max(readings), BASELINE) == max(readings) + 2 * IN
    )


def test_the_web_follows_the_tightest_reading_and_the_width_the_largest():
    sizing = sized("4 1/2", "4", "4 1/4")
    assert sizing.strip_nm == 8 * IN
    assert sizing.channel.web_nm == inches("3 1/2")


def test_an_isolated_tight_spot_changes_neither_strip_nor_channel():
    even = sized("4 1/2", "4 1/4", "4 1/2", "4 1/2")
    spot = sized("4 1/2", "4 1/4", "4 1/2", "4 1/2", "2")
    assert (spot.strip_nm, spot.channel) == (even.strip_nm, even.channel)
    assert spot.clearance.isolated == ((4, 2 * IN),)


def test_a_plain_job_needs_no_advice():
    assert sized("4 1/2", "4 1/4", "4 3/8").advice == ()


@OFTEN
@given(READINGS, RULES)
def test_advice_is_given_exactly_where_no_stocked_strip_fits_snugly(readings, rules):
    sizing = size(readings, rules)
    fits = sizing.channel is not None and sizing.channel.snug
    assert bool(sizing.advice) is not fits


@pytest.mark.parametrize("readings", [("11",), ("10 1/64", "11", "12"), ("36",)])
def test_a_gap_beyond_all_stock_is_told_as_such(readings):
    sizing = sized(*readings)
    assert sizing.strip_nm is None
    assert sorted(beyond(sizing)) == sorted(inches(reading) for reading in readings)


def test_a_gap_that_is_partly_beyond_all_stock_keeps_a_strip_for_the_rest():
    sizing = sized("11", "4", "4 1/4")
    split = advised(sizing, "split")
    assert beyond(sizing) == [inches("11")]
    assert [s.strip_nm for s in split.stretches] == [stocked_width_nm(inches("4 1/4"), BASELINE)]


@OFTEN
@given(READINGS, RULES)
def test_a_proposed_next_width_is_the_first_wider_one_that_is_snug(readings, rules):
    sizing = size(readings, rules)
    advice = advised(sizing, "next_width")
    least, largest = sizing.clearance.tightest_nm, sizing.clearance.governing_nm
    wider = [w for w in WIDTHS if sizing.strip_nm is not None and w > sizing.strip_nm]
    fitting = [w for w in wider if snug(w, least, largest, rules)]
    if sizing.advice:
        assert (advice.strip_nm if advice else None) == (fitting[0] if fitting else None)


@OFTEN
@given(READINGS, RULES)
def test_every_stretch_of_a_split_is_snug_from_its_least_to_its_largest_reading(readings, rules):
    split = advised(size(readings, rules), "split")
    for stretch in split.stretches if split else ():
        assert stretch.strip_nm == stocked_width_nm(stretch.largest_nm, rules)
        assert stretch.channel.snug
        assert stretch.channel == bend(
            stretch.strip_nm, stretch.least_nm, stretch.largest_nm, rules
        )
        assert stretch.channel.free_to_nm > stretch.largest_nm
        assert stretch.channel.web_nm <= stretch.least_nm - IN // 2


@OFTEN
@given(READINGS, RULES)
def test_a_split_places_every_reading_that_counts_in_one_stretch_or_beyond(readings, rules):
    sizing = size(readings, rules)
    split = advised(sizing, "split")
    for nm in counted(readings, sizing) if split else ():
        inside = [s for s in split.stretches if s.least_nm <= nm <= s.largest_nm]
        assert len(inside) + beyond(sizing).count(nm) == 1


@OFTEN
@given(READINGS, RULES)
def test_what_is_told_as_beyond_fits_no_stocked_strip_of_its_own(readings, rules):
    for nm in beyond(size(readings, rules)):
        strip = stocked_width_nm(nm, rules)
        assert strip is None or not snug(strip, nm, nm, rules)


def best_division(readings, rules):
    """Return the least (readings beyond, stretches), by trying every division of the readings."""
    gaps = sorted(readings)
    strips = {nm: stocked_width_nm(nm, rules) for nm in gaps}

    @cache
    def best(start):
        if start == len(gaps):
            return 0, 0
        beyond, stretches = best(start + 1)
        tries = [(beyond + 1, stretches)]
        for end in range(start, len(gaps)):
            strip = strips[gaps[end]]
            if strip is not None and snug(strip, gaps[start], gaps[end], rules):
                beyond, stretches = best(end + 1)
                tries.append((beyond, stretches + 1))
        return min(tries)

    return best(0)


@OFTEN
@given(st.lists(CROWDED, min_size=4, max_size=8), RULES)
def test_a_split_has_as_few_stretches_as_any_division_of_the_readings(readings, rules):
    sizing = size(readings, rules)
    split = advised(sizing, "split")
    if split is not None:
        found = len(beyond(sizing)), len(split.stretches)
        assert found == best_division(counted(readings, sizing), rules)


def test_a_shorter_first_stretch_can_spare_a_whole_strip_further_down():
    """Two stretches do: 7 1/16 in alone, and 6 3/16 down to 4 7/8 in from a 10 in strip."""
    split = advised(sized("4 7/8", "5 11/16", "6 3/16", "7 1/16"), "split")
    assert len(split.stretches) == 2


def test_a_gap_too_low_for_a_web_is_told_and_gets_no_channel():
    sizing = sized("1")
    assert sizing.channel is None
    assert advised(sizing, "low_gap") is not None


def test_a_low_reading_among_high_ones_is_told_and_the_rest_gets_its_strip():
    sizing = sized("1", "4")
    assert advised(sizing, "low_gap") is not None
    assert [s.strip_nm for s in advised(sizing, "split").stretches] == [6 * IN]


@OFTEN
@given(READINGS, RULES, st.randoms(use_true_random=False))
def test_the_order_in_which_readings_are_taken_does_not_change_the_sizing(readings, rules, chance):
    shuffled = list(readings)
    chance.shuffle(shuffled)
    first, second = size(readings, rules), size(shuffled, rules)
    assert (first.strip_nm, first.channel, first.advice) == (
        second.strip_nm,
        second.channel,
        second.advice,
    )
