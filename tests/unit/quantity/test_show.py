from __future__ import annotations

import json
from fractions import Fraction

import msgspec
import pytest
from gapwright.quantity.parse import length_nm
from gapwright.quantity.show import decimal, long, short
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, IN, MM, STEADY, M, inches

LENGTHS = st.integers(min_value=-100 * M, max_value=10_000 * M) | st.integers(-IN, IN)
SYSTEMS = st.sampled_from(["imperial", "metric"])
SIDES = st.sampled_from(["up", "down"])
MARKS = {(short, "imperial"): IN // 16, (short, "metric"): MM}
MARKS |= {(long, "imperial"): IN // 16, (long, "metric"): 10 * MM}
UNITS = {"in": IN, "ft": FT, "mm": MM, "m": M}
WRITERS = st.sampled_from([short, long])


def read_back(text):
    """Return the length that a text of an answer states, by the reader of requests."""
    return -length_nm(text[1:]) if text.startswith("-") else length_nm(text)


@STEADY
@given(WRITERS, LENGTHS, SYSTEMS, SIDES)
def test_text_is_never_on_the_wrong_side_of_the_length(write, nm, system, safe):
    stated = read_back(write(nm, system, safe).text)
    assert stated >= nm if safe == "up" else stated <= nm


@STEADY
@given(WRITERS, LENGTHS, SYSTEMS, SIDES)
def test_text_is_less_than_one_mark_of_the_tape_away(write, nm, system, safe):
    assert abs(read_back(write(nm, system, safe).text) - nm) < MARKS[write, system]


@STEADY
@given(WRITERS, LENGTHS, SYSTEMS, SIDES)
def test_text_that_is_rounded_says_so_and_to_which_side(write, nm, system, safe):
    shown = write(nm, system, safe)
    assert shown.rounded == (msgspec.UNSET if read_back(shown.text) == nm else safe)


@STEADY
@given(WRITERS, st.integers(-10_000, 1_000_000), SYSTEMS, SIDES)
def test_a_length_on_a_mark_of_the_tape_is_shown_exactly(write, marks, system, safe):
    nm = marks * MARKS[write, system]
    shown = write(nm, system, safe)
    assert read_back(shown.text) == nm
    assert shown.rounded is msgspec.UNSET


@STEADY
@given(WRITERS, LENGTHS, SYSTEMS, SIDES)
def test_the_number_for_programs_is_the_length_to_six_decimals(write, nm, system, safe):
    shown = write(nm, system, safe)
    assert abs(Fraction(shown.value) * UNITS[shown.unit] - nm) <= UNITS[shown.unit] * Fraction(
        1, 99_999
    )


@STEADY
@given(WRITERS, LENGTHS, SYSTEMS)
def test_up_and_down_differ_only_where_something_was_rounded(write, nm, system):
    up, down = write(nm, system, "up"), write(nm, system, "down")
    assert (
        (up.text == down.text) == (up.rounded is msgspec.UNSET) == (down.rounded is msgspec.UNSET)
    )
    assert up.value == down.value


@pytest.mark.parametrize(
    ("nm", "safe", "text"),
    [
        (inches("4 1/2"), "up", "4 1/2 in"),
        (inches("8"), "up", "8 in"),
        (inches("3/8"), "down", "3/8 in"),
        (inches("1/64"), "up", "1/16 in"),
        (inches("1/64"), "down", "0 in"),
        (inches("4 31/64"), "up", "4 1/2 in"),
        (inches("4 33/64"), "down", "4 1/2 in"),
        (0, "up", "0 in"),
        (-inches("1/2"), "up", "-1/2 in"),
        (-inches("1/64"), "up", "0 in"),
        (-inches("1/64"), "down", "-1/16 in"),
        (inches("75 1/4"), "up", "75 1/4 in"),
    ],
)
def test_short_lengths_read_as_a_tape_does(nm, safe, text):
    assert short(nm, "imperial", safe).text == text


@pytest.mark.parametrize(
    ("nm", "text"),
    [
        (90 * FT, "90 ft"),
        (6 * FT + inches("4 1/2"), "6 ft 4 1/2 in"),
        (inches("4 1/2"), "4 1/2 in"),
        (12 * IN, "1 ft"),
        (12 * IN - 1, "1 ft"),
        (FT + 1, "1 ft 1/16 in"),
        (0, "0 ft"),
        (-FT - IN, "-1 ft 1 in"),
    ],
)
def test_long_lengths_read_in_feet_and_inches(nm, text):
    assert long(nm, "imperial", "up").text == text


@pytest.mark.parametrize(
    ("write", "nm", "safe", "text"),
    [
        (short, 114_300_000, "up", "115 mm"),
        (short, 114_300_000, "down", "114 mm"),
        (short, 203_200_000, "down", "203 mm"),
        (long, 27_432_500_000, "up", "27.433 m"),
        (long, 27_432_500_000, "down", "27.432 m"),
        (long, 27_432_000_000, "up", "27.432 m"),
        (long, 30 * M, "up", "30 m"),
        (long, 1_100 * MM, "up", "1.1 m"),
    ],
)
def test_metric_text_is_in_whole_millimetres(write, nm, safe, text):
    assert write(nm, "metric", safe).text == text


NUMBERS = st.floats(-1e12, 1e12) | st.floats(-1e-3, 1e-3)


@STEADY
@given(NUMBERS)
def test_numbers_are_written_without_exponent_or_dot_zero(number):
    written = msgspec.json.encode(decimal(number)).decode()
    assert "e" not in written.lower()
    assert not written.endswith(".0")
    assert written != "-0"
    assert abs(json.loads(written) - number) <= 1e-5


@pytest.mark.parametrize("number", [0, 4, -4, 10**12])
def test_a_whole_number_stays_as_it_is(number):
    assert msgspec.json.encode(decimal(number)) == str(number).encode()
