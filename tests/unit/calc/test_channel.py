from __future__ import annotations

from fractions import Fraction
from math import cos, radians

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.calc.channel import bend, free_height_nm
from tests.unit.make import values
from tests.unit.measures import IN, MM, STEADY, inches

BASELINE = values()
SNAPPED = values(snap_bends_to_wires=True)
GAPS = st.integers(2 * IN, 10 * IN) | st.integers(32, 160).map(lambda marks: marks * IN // 16)
UNEVEN = st.integers(0, IN) | st.integers(0, 16).map(lambda marks: marks * IN // 16)


@st.composite
def jobs(draw):
    """A stocked strip with a tightest and a largest reading that it covers [nm]."""
    largest = draw(GAPS)
    strip = next(width for width in BASELINE.stocked_widths if width >= largest + 2 * IN)
    return strip, max(largest - draw(UNEVEN), 3 * IN // 2), largest


def springs_nm(channel, turn):
    """Return the free height by the sharp-bend formula, unrounded."""
    return channel.web_nm + 2 * channel.flange_nm * cos(radians(turn))


def test_a_square_channel_is_as_high_as_its_web():
    assert free_height_nm(inches("4 1/2"), inches("1 3/4"), 90) == inches("4 1/2")


def test_a_flat_strip_is_as_high_as_it_is_wide():
    assert free_height_nm(inches("4 1/2"), inches("1 3/4"), 0) == inches("8")


def test_half_a_flange_stands_up_at_sixty_degrees():
    assert free_height_nm(4 * IN, 2 * IN, 60) == 6 * IN


def test_turning_a_bend_further_lowers_the_channel():
    heights = [free_height_nm(4 * IN, 2 * IN, turn) for turn in range(0, 91, 5)]
    assert heights == sorted(heights, reverse=True)


@STEADY
@given(jobs())
def test_web_and_flanges_use_up_the_strip_exactly(job):
    strip, tightest, largest = job
    channel = bend(strip, tightest, largest, BASELINE)
    assert channel.web_nm + 2 * channel.flange_nm == strip
    assert channel.bend_lines_nm == (channel.flange_nm, strip - channel.flange_nm)
    assert channel.flange_nm > 0


@STEADY
@given(jobs())
def test_the_web_leaves_half_an_inch_at_the_tightest_reading_that_counts(job):
    strip, tightest, largest = job
    channel = bend(strip, tightest, largest, BASELINE)
    assert 0 <= tightest - IN // 2 - channel.web_nm <= 1


@STEADY
@given(jobs())
def test_a_snug_channel_springs_above_the_largest_reading_at_every_recommended_turn(job):
    strip, tightest, largest = job
    channel = bend(strip, tightest, largest, BASELINE)
    if channel.snug:
        assert 70 <= channel.turn_from <= channel.turn_to <= 80
        assert channel.free_from_nm >= channel.free_to_nm > largest
        assert springs_nm(channel, channel.turn_to) > largest - 1


@STEADY
@given(jobs())
def test_one_degree_further_would_be_loose_or_past_the_rule(job):
    strip, tightest, largest = job
    channel = bend(strip, tightest, largest, BASELINE)
    if channel.snug and channel.turn_to < 80:
        assert springs_nm(channel, channel.turn_to + 1) <= largest + 1


@STEADY
@given(jobs())
def test_a_loose_channel_is_loose_even_at_the_least_turn(job):
    strip, tightest, largest = job
    channel = bend(strip, tightest, largest, BASELINE)
    if not channel.snug:
        assert springs_nm(channel, 70) <= largest + 1
        assert channel.turn_from == channel.turn_to == 70


@pytest.mark.parametrize("step", [0.5, 1.0, 3.0, 20.0])
@pytest.mark.parametrize(("least", "greatest"), [(70.0, 80.0), (72.5, 90.0)])
def test_whether_a_channel_is_loose_depends_on_the_least_turn_and_not_on_the_step(
    step, least, greatest
):
    rules = values(turn_from=least, turn_to=greatest, turn_step=step)
    for largest in range(5 * IN, 6 * IN + 1, IN // 16):
        for tightest in range(largest - IN, largest + 1, IN // 16):
            channel = bend(8 * IN, tightest, largest, rules)
            springs = free_height_nm(channel.web_nm, channel.flange_nm, least)
            assert channel.snug == (springs > largest), (tightest, largest)
            assert least <= channel.turn_to <= greatest


def test_a_gap_of_uneven_height_is_snug_at_seventy_degrees_in_steps_of_three():
    rules = values(turn_step=3.0)
    channel = bend(8 * IN, inches("5 1/2"), inches("6"), rules)
    assert channel.free_from_nm > inches("6")
    assert channel.snug


def test_a_six_inch_gap_under_an_eight_inch_strip_is_loose_at_eighty_degrees():
    channel = bend(8 * IN, 6 * IN, 6 * IN, BASELINE)
    assert free_height_nm(channel.web_nm, channel.flange_nm, 80) < 6 * IN
    assert (channel.turn_from, channel.turn_to) == (70, 78)


def test_as_high_as_the_gap_is_not_snug():
    """A channel that is exactly as high as the gap presses on nothing."""
    square = values(turn_from=60.0, turn_to=60.0)
    snug = bend(8 * IN, 5 * IN, 6 * IN, square)
    assert snug.web_nm + snug.flange_nm == inches("6 1/4")
    level = bend(8 * IN, 5 * IN, inches("6 1/4"), square)
    assert level.free_to_nm == inches("6 1/4")
    assert not level.snug


@pytest.mark.parametrize(("gap", "bent"), [("1 1/2", True), ("1 31/64", False)])
def test_a_gap_too_low_for_the_least_web_gets_no_channel(gap, bent):
    assert (bend(4 * IN, inches(gap), inches(gap), BASELINE) is not None) is bent


@STEADY
@given(jobs())
def test_snapping_to_wires_never_widens_the_web(job):
    strip, tightest, largest = job
    free, snapped = (
        bend(strip, tightest, largest, BASELINE),
        bend(strip, tightest, largest, SNAPPED),
    )
    if snapped is not None:
        assert free.web_nm - IN < snapped.web_nm <= free.web_nm
        assert snapped.web_nm + 2 * snapped.flange_nm == strip


@STEADY
@given(jobs(), st.sampled_from([IN // 4, IN // 2, IN]))
def test_snapped_bend_lines_lie_on_wires_counted_from_either_edge(job, opening):
    strip, tightest, largest = job
    rules = msgspec.structs.replace(SNAPPED, mesh_opening=opening)
    channel = bend(strip, tightest, largest, rules)
    if channel is not None:
        low, high = channel.bend_lines_nm
        assert low % opening == (strip - high) % opening == 0


def test_a_bend_line_that_is_on_a_wire_already_stays_there():
    assert bend(8 * IN, inches("4 1/2"), inches("4 1/2"), SNAPPED).bend_lines_nm == (2 * IN, 6 * IN)


def test_an_odd_nanometre_goes_to_the_flanges_and_not_to_the_web():
    channel = bend(200 * MM, 100 * MM + 1, 100 * MM + 1, BASELINE)
    assert channel.web_nm == 100 * MM - IN // 2
    assert Fraction(channel.flange_nm) == (200 * MM - channel.web_nm) / Fraction(2)
