from __future__ import annotations

from math import cos, radians

import msgspec
import pytest
from gapwright.calc.channel import bend, can_be_bent, free_height_nm
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.make import baseline, with_values
from tests.unit.measures import IN, MM, STEADY, inches

BASELINE = baseline()
SNAPPED = with_values({"snap_bends_to_wires": True})
METRIC = msgspec.structs.replace(BASELINE, units="metric")
MARK = {"imperial": IN // 16, "metric": MM}
RULES = st.sampled_from([BASELINE, METRIC])
GAPS = st.integers(2 * IN, 10 * IN) | st.integers(32, 160).map(lambda marks: marks * IN // 16)
UNEVEN = st.integers(0, IN) | st.integers(0, 16).map(lambda marks: marks * IN // 16)


@st.composite
def jobs(draw):
    """A stocked strip with a tightest and a largest reading that it covers [nm]."""
    largest = draw(GAPS)
    strip = next(w for w in BASELINE.values.stock_widths if w >= largest + 2 * IN)
    return strip, max(largest - draw(UNEVEN), 3 * IN // 2), largest


def heights_nm(strip, channel, turn, rules):
    """Return the free height as computed, and as bent on the tape of a rule set's units."""
    mark, flange = MARK[rules.units], channel.flange.nm
    low, high = -(-flange // mark) * mark, (strip - flange) // mark * mark
    bent = cos(radians(turn))
    return channel.web.nm + 2 * flange * bent, high - low + (low + strip - high) * bent


@pytest.mark.parametrize(
    ("web", "flange", "turn", "height"),
    [
        ("4 1/2", "1 3/4", 90, "4 1/2"),
        ("4 1/2", "1 3/4", 0, "8"),
        ("4", "2", 60, "6"),
    ],
)
def test_a_channel_is_as_high_as_its_web_and_what_stands_up_of_its_flanges(
    web, flange, turn, height
):
    assert free_height_nm(inches(web), inches(flange), turn) == inches(height)


def test_turning_a_bend_further_lowers_the_channel():
    heights = [free_height_nm(4 * IN, 2 * IN, turn) for turn in range(0, 91, 5)]
    assert heights == sorted(heights, reverse=True)


@STEADY
@given(jobs(), RULES)
def test_web_and_flanges_use_up_the_strip_and_the_web_leaves_half_an_inch_at_the_tightest(
    job, rules
):
    strip, smallest, largest = job
    channel = bend(strip, smallest, largest, rules)
    assert channel.web.nm + 2 * channel.flange.nm == strip
    assert tuple(line.nm for line in channel.bend_lines) == (
        channel.flange.nm,
        strip - channel.flange.nm,
    )
    assert channel.flange.nm > 0
    assert 0 <= smallest - IN // 2 - channel.web.nm <= 1


@STEADY
@given(jobs(), RULES)
def test_a_snug_channel_springs_above_the_largest_reading_at_every_recommended_turn(job, rules):
    """Also where it is bent on the marks of a tape; one degree more is loose or past the rule."""
    strip, smallest, largest = job
    channel = bend(strip, smallest, largest, rules)
    least, to = channel.bend_angle.min, channel.bend_angle.max
    if channel.snug:
        assert 70 == least <= to <= 80
        assert channel.free_height.min.nm >= channel.free_height.max.nm > largest
        assert min(heights_nm(strip, channel, to, rules)) > largest - 1
        assert to == 80 or min(heights_nm(strip, channel, to + 1, rules)) <= largest + 1
    else:
        assert least == to == 70
        assert min(heights_nm(strip, channel, 70, rules)) <= largest + 1


@pytest.mark.parametrize("step", [0.5, 1.0, 3.0, 20.0])
@pytest.mark.parametrize(("least", "greatest"), [(70.0, 80.0), (72.5, 90.0)])
def test_whether_a_channel_is_loose_depends_on_the_least_turn_and_not_on_the_step(
    step, least, greatest
):
    rules = with_values(
        {"min_bend_angle": least, "max_bend_angle": greatest, "bend_angle_step": step}
    )
    for largest in range(5 * IN, 6 * IN + 1, IN // 16):
        for smallest in range(largest - IN, largest + 1, IN // 8):
            channel = bend(8 * IN, smallest, largest, rules)
            springs = min(round(nm) for nm in heights_nm(8 * IN, channel, least, rules))
            assert channel.snug == (springs > largest), (smallest, largest)
            assert least <= channel.bend_angle.max <= greatest


def test_a_gap_of_uneven_height_is_snug_at_seventy_degrees_in_steps_of_three():
    channel = bend(8 * IN, inches("5 1/2"), inches("6"), with_values({"bend_angle_step": 3.0}))
    assert channel.free_height.min.nm > inches("6")
    assert channel.snug


def test_a_six_inch_gap_under_an_eight_inch_strip_is_loose_at_eighty_degrees():
    channel = bend(8 * IN, 6 * IN, 6 * IN, BASELINE)
    assert free_height_nm(channel.web.nm, channel.flange.nm, 80) < 6 * IN
    assert (channel.bend_angle.min, channel.bend_angle.max) == (70, 78)


def test_as_high_as_the_gap_is_not_snug():
    """A channel that is exactly as high as the gap presses on nothing."""
    square = with_values({"min_bend_angle": 60.0, "max_bend_angle": 60.0})
    assert bend(8 * IN, 5 * IN, 6 * IN, square).snug
    level = bend(8 * IN, 5 * IN, inches("6 1/4"), square)
    assert level.free_height.max.nm == inches("6 1/4")
    assert not level.snug


@pytest.mark.parametrize(("gap", "bent"), [("1 1/2", True), ("1 31/64", False)])
def test_a_gap_too_low_for_the_min_web_gets_no_channel(gap, bent):
    assert (bend(4 * IN, inches(gap), inches(gap), BASELINE) is not None) is bent
    assert can_be_bent(4 * IN, inches(gap), BASELINE) is bent


@STEADY
@given(jobs(), st.sampled_from([IN // 4, IN // 2, IN]))
def test_snapped_bend_lines_lie_on_wires_from_either_side_and_never_widen_the_web(job, opening):
    strip, smallest, largest = job
    rules = with_values({"snap_bends_to_wires": True, "mesh_opening": opening})
    free, snapped = (bend(strip, smallest, largest, one) for one in (BASELINE, rules))
    if snapped is not None:
        low, high = (line.nm for line in snapped.bend_lines)
        assert low % opening == (strip - high) % opening == 0
        assert free.web.nm - 2 * opening < snapped.web.nm <= free.web.nm
        assert snapped.web.nm + 2 * snapped.flange.nm == strip


def test_a_bend_line_that_is_on_a_wire_already_stays_there():
    snapped = bend(8 * IN, inches("4 1/2"), inches("4 1/2"), SNAPPED)
    assert [line.nm for line in snapped.bend_lines] == [2 * IN, 6 * IN]


def test_an_odd_nanometre_goes_to_the_flanges_and_not_to_the_web():
    channel = bend(200 * MM, 100 * MM + 1, 100 * MM + 1, BASELINE)
    assert channel.web.nm == 100 * MM - IN // 2
    assert 2 * channel.flange.nm == 200 * MM - channel.web.nm
