from __future__ import annotations

import math
import re

import pytest
from gapwright.quantity.kinds import (
    ModuleSide,
    Nm,
    Perimeter,
    Position,
    Reading,
    RollLength,
    StripWidth,
    decode,
    shown,
)
from gapwright.quantity.parse import QuantityError, length_nm
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import IN, PROMPT, inches

KINDS = [Reading, StripWidth, Perimeter, RollLength]


def told(kind, value):
    with pytest.raises(QuantityError) as caught:
        decode(kind, value)
    return str(caught.value)


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_in_a_message_can_be_written(kind):
    assert decode(kind, kind.example) == length_nm(kind.example)


@pytest.mark.parametrize("kind", KINDS)
def test_both_bounds_belong_to_what_is_taken(kind):
    assert decode(kind, kind.least) == length_nm(kind.least)
    assert decode(kind, kind.most) == length_nm(kind.most)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("step", [-1, 1])
def test_a_nanometre_past_a_bound_is_refused_with_the_bounds(kind, step):
    bound = length_nm(kind.least if step < 0 else kind.most) + step
    message = told(kind, f"{bound // 10**6}.{bound % 10**6:06d} mm")
    assert kind.description in message
    assert kind.least in message
    assert kind.most in message


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (Reading, "40 ft"),
        (Reading, "4.5 ft"),
        (Reading, "450 cm"),
        (StripWidth, "8 ft"),
        (Perimeter, "90 in 3"),
        (Perimeter, "90000 ft"),
        (RollLength, "1 in"),
        (RollLength, "100 m 5 in"),
    ],
)
def test_a_length_that_no_roof_has_is_refused(kind, text):
    assert kind.example in told(kind, text)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("text", ["0 in", "0 mm", "0/4 in", "0.0 ft", "0' 0\"", "0.0000000001 mm"])
def test_nothing_is_no_length(kind, text):
    assert "is zero" in told(kind, text)


@pytest.mark.parametrize(
    ("value", "found"),
    [
        (4, "the number 4"),
        (4.5, "the number 4.5"),
        (-1, "the number -1"),
        (math.nan, "the number nan"),
        (math.inf, "the number inf"),
        (True, "true"),
        (None, "null"),
        (["4 in"], "a list"),
        ({"value": 4, "unit": "in"}, "an object"),
    ],
)
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_no_text_is_refused_and_told_what_to_write(kind, value, found):
    message = told(kind, value)
    expected = f"{kind.description} with a unit, such as {kind.example}"
    assert message == f"Expected {expected}; got {found}."


@PROMPT
@given(st.sampled_from(KINDS), st.text(max_size=50))
def test_any_text_is_a_length_within_bounds_or_is_refused_with_an_example(kind, text):
    try:
        found = decode(kind, text)
    except QuantityError as error:
        found = str(error)
    if isinstance(found, str):
        assert f"such as {kind.example}." in found
    else:
        assert length_nm(kind.least) <= found <= length_nm(kind.most)


def test_a_length_that_was_read_is_the_integer_of_its_nanometres():
    found = decode(Reading, "4 1/2 in")
    assert isinstance(found, Nm)
    assert found == inches("4 1/2") == 9 * IN // 2


@pytest.mark.parametrize("value", [10**50, -(10**50), "x" * 5000, ["x"] * 5000, 1e300])
def test_a_value_is_named_in_few_words_however_long_it_is(value):
    assert len(shown(value)) < 80


@pytest.mark.parametrize(
    ("kind", "text", "bounds"),
    [
        (Position, "915 m", "-3000 ft to 3000 ft (-914.4 m to 914.4 m)"),
        (ModuleSide, "7 m", "4 in to 20 ft (102 mm to 6096 mm)"),
        (Reading, "1 m", "1/8 in to 36 in (4 mm to 914 mm)"),
    ],
)
def test_bounds_are_told_in_both_systems_and_hold_in_both(kind, text, bounds):
    with pytest.raises(QuantityError, match=re.escape(bounds)):
        kind.read(text)
    for end in bounds.split("(")[1].rstrip(")").split(" to "):
        assert kind.read(end)
