"""The section of the channel, by plane geometry.

No handbook is known to print these rows: they are worked from the section itself, sharp bends and
equal flanges, and printed to a thousandth of an inch (one row to a ten-thousandth). Computed. The
tolerance is half of the last printed digit.

The second source is independent of any formula: the strip is drawn flat, its two ends are turned
about the bend lines with shapely (PyPI), and the height of what comes out is read off. Computed.
The service rounds to the nearest nanometre, so may be off by half of one; shapely's doubles hold a
coordinate of under a metre to better than a millionth of one. One nanometre covers both.
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString
from shapely.affinity import rotate
from shapely.ops import unary_union

from service.calc.channel import bend, free_height_nm
from service.calc.sizing import size
from service.places import shipped
from service.rulesets.shelf import Shelf

IN = 25_400_000
VALUES = Shelf(shipped("rules")).pick("baseline", date(2026, 7, 1)).values

ROWS = [(70, "5.697"), (75, "5.406"), (80, "5.108"), (90, "4.500")]
"""Clearance 5 in, strip 8 in, so web 4 1/2 in and flanges 1 3/4 in: turn and free height."""

lengths = st.integers(IN // 8, 16 * IN)
readings = st.integers(2 * IN, 10 * IN)


def height_of_the_bent_strip(web_nm: int, flange_nm: int, turn_deg: float) -> float:
    """Return the height of a strip that is drawn and bent, from its coordinates [nm].

    The web stands upright. Flat, the strip goes straight on past both bend lines; each end is then
    turned away from that direction by the turn, both to the same side.
    """
    foot, head = (0, 0), (0, web_nm)
    web = LineString([foot, head])
    above = rotate(LineString([head, (0, web_nm + flange_nm)]), -turn_deg, origin=head)
    below = rotate(LineString([foot, (0, -flange_nm)]), turn_deg, origin=foot)
    _, bottom, _, top = unary_union([web, above, below]).bounds
    return top - bottom


@pytest.mark.parametrize(("turn", "inches"), ROWS)
def test_the_free_height_is_that_of_the_worked_rows_to_a_thousandth(turn, inches):
    free = free_height_nm(9 * IN // 2, 7 * IN // 4, turn)
    assert abs(free / IN - float(inches)) <= 0.000_5


def test_the_sizing_of_five_inches_has_the_section_and_the_heights_of_the_worked_rows():
    channel = size([5 * IN], VALUES).channel
    assert (channel.web_nm, channel.flange_nm) == (9 * IN // 2, 7 * IN // 4)
    assert channel.bend_lines_nm == (7 * IN // 4, 25 * IN // 4)
    assert (channel.turn_from, channel.turn_to) == (70, 80)
    assert abs(channel.free_from_nm / IN - 5.697) <= 0.000_5
    assert abs(channel.free_to_nm / IN - 5.108) <= 0.000_5
    assert channel.snug


def test_a_strip_of_six_inches_does_not_spring_in_five_inches_at_eighty_degrees():
    channel = bend(6 * IN, 5 * IN, 5 * IN, VALUES)
    assert (channel.web_nm, channel.flange_nm) == (9 * IN // 2, 3 * IN // 4)
    free = free_height_nm(channel.web_nm, channel.flange_nm, 80)
    assert abs(free / IN - 4.7605) <= 0.000_05
    assert free < 5 * IN
    assert channel.turn_to < 80


def test_the_turn_counts_from_the_flat_strip_and_is_not_the_angle_between_web_and_flange():
    """At no turn the strip is flat; the included angle would give 3.892 in at 80 degrees."""
    web, flange = 9 * IN // 2, 7 * IN // 4
    assert free_height_nm(web, flange, 0) == 8 * IN
    assert free_height_nm(web, flange, 90) == web
    assert free_height_nm(web, flange, 80) > web
    assert abs(free_height_nm(web, flange, 180 - 80) / IN - 3.892) <= 0.000_5


@given(web=lengths, flange=lengths, turns=st.tuples(st.integers(0, 90), st.integers(0, 90)))
def test_the_more_a_bend_is_turned_the_lower_the_channel_stands(web, flange, turns):
    less, more = sorted(turns)
    assume(less < more)
    assert free_height_nm(web, flange, less) > free_height_nm(web, flange, more)


@settings(deadline=None)
@given(web=lengths, flange=lengths, turn=st.floats(0, 90))
def test_the_free_height_is_that_of_the_strip_drawn_and_bent(web, flange, turn):
    assert abs(free_height_nm(web, flange, turn) - height_of_the_bent_strip(web, flange, turn)) <= 1


def test_six_inches_in_a_strip_of_eight_is_loose_at_eighty_degrees_and_snug_to_seventy_eight():
    sizing = size([6 * IN], VALUES)
    channel = sizing.channel
    assert sizing.strip_nm == 8 * IN
    assert channel.snug
    assert height_of_the_bent_strip(channel.web_nm, channel.flange_nm, 80) < 6 * IN
    assert height_of_the_bent_strip(channel.web_nm, channel.flange_nm, 79) < 6 * IN
    assert height_of_the_bent_strip(channel.web_nm, channel.flange_nm, 78) > 6 * IN
    assert (channel.turn_from, channel.turn_to) == (70, 78)


@settings(deadline=None)
@given(first=readings, second=readings)
def test_every_recommended_turn_springs_above_the_clearance_and_the_next_one_does_not(
    first, second
):
    channel = size([first, second], VALUES).channel
    assume(channel is not None and channel.snug)
    section = channel.web_nm, channel.flange_nm
    tall = [turn for turn in range(70, 81) if height_of_the_bent_strip(*section, turn) > first]
    tall = [turn for turn in tall if height_of_the_bent_strip(*section, turn) > second]
    assert tall == list(range(round(channel.turn_from), round(channel.turn_to) + 1))


@settings(deadline=None)
@given(first=readings, second=readings)
def test_a_channel_is_called_loose_only_where_the_least_turn_does_not_reach_the_clearance(
    first, second
):
    channel = size([first, second], VALUES).channel
    assume(channel is not None and not channel.snug)
    tallest = height_of_the_bent_strip(channel.web_nm, channel.flange_nm, 70)
    assert tallest <= max(first, second) + 1


@settings(deadline=None)
@given(first=readings, second=readings)
def test_the_bend_lines_divide_the_strip_into_two_flanges_and_a_web_that_goes_in_everywhere(
    first, second
):
    sizing = size([first, second], VALUES)
    assume(sizing.channel is not None)
    low, high = sizing.channel.bend_lines_nm
    assert low == sizing.strip_nm - high == sizing.channel.flange_nm
    assert high - low == sizing.channel.web_nm
    assert sizing.channel.web_nm <= sizing.clearance.tightest_nm - IN // 2
