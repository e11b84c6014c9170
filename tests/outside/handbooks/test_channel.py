"""The section of the channel, by plane geometry.

No handbook is known to print these rows: they are worked from the section itself, sharp bends and
equal flanges, and printed to a thousandth of an inch (one row to a ten-thousandth). Computed. The
tolerance is half of the last printed digit.

The second source is independent of any formula: the strip is drawn flat, its two ends are turned
about the bend lines with shapely (PyPI), and the height of what comes out is read off. Computed.
The service rounds to the nearest nanometre, so may be off by half of one; shapely's doubles hold a
coordinate of under a metre to better than a millionth of one. One nanometre covers both.

A crew bends on the marks of its tape, so a channel is recommended only where it springs both as
computed and as bent on those marks: both are drawn.
"""

from __future__ import annotations

from datetime import date

import pytest
from gapwright.calc.channel import bend, free_height_nm
from gapwright.calc.sizing import size
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.shelf import Shelf
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString
from shapely.affinity import rotate
from shapely.ops import unary_union

from tests.history import RULES as HISTORY

IN = 25_400_000
SIXTEENTH = IN // 16
RULES = Shelf(HISTORY).pick("baseline", date(2026, 7, 1))

ROWS = [(70, "5.697"), (75, "5.406"), (80, "5.108"), (90, "4.500")]
"""Clearance 5 in, strip 8 in, so web 4 1/2 in and flanges 1 3/4 in: turn and free height."""

lengths = st.integers(IN // 8, 16 * IN)
readings = st.integers(2 * IN, 10 * IN)


def sized(*readings_nm):
    """Return the strip [nm] and the channel for some readings of one place."""
    sizing = size(Figure((readings_nm,)), RULES)
    return sizing.strip_nm.value, sizing.profile.value


def section(channel):
    return channel.web.nm, channel.flange.nm


def turns(channel):
    return channel.bend_angle.min, channel.bend_angle.max


def height_of_the_bent_strip(
    web_nm: int, flange_nm: int, turn_deg: float, other_flange_nm: int | None = None
) -> float:
    """Return the height of a strip that is drawn and bent, from its coordinates [nm].

    The web stands upright. Flat, the strip goes straight on past both bend lines; each end is then
    turned away from that direction by the turn, both to the same side.
    """
    foot, head = (0, 0), (0, web_nm)
    web = LineString([foot, head])
    above = rotate(LineString([head, (0, web_nm + flange_nm)]), -turn_deg, origin=head)
    other = flange_nm if other_flange_nm is None else other_flange_nm
    below = rotate(LineString([foot, (0, -other)]), turn_deg, origin=foot)
    _, bottom, _, top = unary_union([web, above, below]).bounds
    return top - bottom


def height_to_rely_on(strip_nm: int, channel, turn_deg: float) -> float:
    """Return the height of the channel as computed or as bent on a tape, whichever is less [nm].

    On the tape a line is bent at the mark that keeps the web no wider than computed.
    """
    flange = channel.flange.nm
    low = -(-flange // SIXTEENTH) * SIXTEENTH
    high = (strip_nm - flange) // SIXTEENTH * SIXTEENTH
    return min(
        height_of_the_bent_strip(*section(channel), turn_deg),
        height_of_the_bent_strip(high - low, low, turn_deg, strip_nm - high),
    )


@pytest.mark.parametrize(("rotation", "inches"), ROWS)
def test_the_free_height_is_that_of_the_worked_rows_to_a_thousandth(rotation, inches):
    free = free_height_nm(9 * IN // 2, 7 * IN // 4, rotation)
    assert abs(free / IN - float(inches)) <= 0.000_5


def test_the_sizing_of_five_inches_has_the_section_and_the_heights_of_the_worked_rows():
    _, channel = sized(5 * IN)
    assert section(channel) == (9 * IN // 2, 7 * IN // 4)
    assert tuple(line.nm for line in channel.bend_lines) == (7 * IN // 4, 25 * IN // 4)
    assert turns(channel) == (70, 80)
    assert abs(channel.free_height.min.nm / IN - 5.697) <= 0.000_5
    assert abs(channel.free_height.max.nm / IN - 5.108) <= 0.000_5
    assert channel.snug


def test_a_strip_of_six_inches_does_not_spring_in_five_inches_at_eighty_degrees():
    channel = bend(6 * IN, 5 * IN, 5 * IN, RULES)
    assert section(channel) == (9 * IN // 2, 3 * IN // 4)
    free = free_height_nm(*section(channel), 80)
    assert abs(free / IN - 4.7605) <= 0.000_05
    assert free < 5 * IN
    assert channel.bend_angle.max < 80


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
@given(web=lengths, flange=lengths, rotation=st.floats(0, 90))
def test_the_free_height_is_that_of_the_strip_drawn_and_bent(web, flange, rotation):
    assert (
        abs(free_height_nm(web, flange, rotation) - height_of_the_bent_strip(web, flange, rotation))
        <= 1
    )


def test_six_inches_in_a_strip_of_eight_is_loose_at_eighty_degrees_and_snug_to_seventy_eight():
    strip, channel = sized(6 * IN)
    assert strip == 8 * IN
    assert channel.snug
    assert height_of_the_bent_strip(*section(channel), 80) < 6 * IN
    assert height_of_the_bent_strip(*section(channel), 79) < 6 * IN
    assert height_of_the_bent_strip(*section(channel), 78) > 6 * IN
    assert turns(channel) == (70, 78)


@settings(deadline=None)
@given(first=readings, second=readings)
def test_every_recommended_turn_springs_above_the_clearance_and_the_next_one_does_not(
    first, second
):
    strip, channel = sized(first, second)
    assume(channel is not None and channel.snug)
    tall = [
        rotation
        for rotation in range(70, 81)
        if height_to_rely_on(strip, channel, rotation) > first
    ]
    tall = [rotation for rotation in tall if height_to_rely_on(strip, channel, rotation) > second]
    least, greatest = turns(channel)
    assert tall == list(range(round(least), round(greatest) + 1))


@settings(deadline=None)
@given(first=readings, second=readings)
def test_a_channel_is_called_loose_only_where_the_least_turn_does_not_reach_the_clearance(
    first, second
):
    strip, channel = sized(first, second)
    assume(channel is not None and not channel.snug)
    tallest = height_to_rely_on(strip, channel, 70)
    assert tallest <= max(first, second) + 1


@settings(deadline=None)
@given(first=readings, second=readings)
def test_the_bend_lines_divide_the_strip_into_two_flanges_and_a_web_that_goes_in_everywhere(
    first, second
):
    strip, channel = sized(first, second)
    assume(channel is not None)
    low, high = (line.nm for line in channel.bend_lines)
    assert low == strip - high == channel.flange.nm
    assert high - low == channel.web.nm
    assert channel.web.nm <= min(first, second) - IN // 2
