"""Amounts are exact, and rounded as the book says."""

from __future__ import annotations

import decimal
from decimal import Decimal
from fractions import Fraction

import pytest
from gapwright.pricebooks.money import MOST, amount, places_of, rounded
from gapwright.quantity.parse import QuantityError
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import PROMPT, STEADY

MODES = {
    "half_up": decimal.ROUND_HALF_UP,
    "half_even": decimal.ROUND_HALF_EVEN,
    "up": decimal.ROUND_UP,
}


@pytest.mark.parametrize(
    ("code", "places"),
    [("USD", 2), ("EUR", 2), ("GBP", 2), ("JPY", 0), ("KRW", 0), ("KWD", 3), ("TND", 3)],
)
def test_a_currency_has_its_minor_unit(code, places):
    assert places_of(code) == places


@pytest.mark.parametrize("code", ["", "US", "USDX", "usd", "U$D", "ÜSD", "XXX", "XAU", "XDR"])
def test_what_is_no_money_of_payment_is_refused(code):
    with pytest.raises(QuantityError, match="is not a currency"):
        places_of(code)


@pytest.mark.parametrize("text", ["0", "0.00", "0.10", "42", "42.5", "42.50", "1000000000"])
def test_an_amount_is_what_its_text_says(text):
    assert amount(text, 2) == Decimal(text)
    assert str(amount(text, 2)) == text


@PROMPT
@given(st.text(max_size=40) | st.from_regex(r"[-+0-9.,eE ]{1,40}", fullmatch=True))
def test_any_text_is_an_amount_within_bounds_or_refused(text):
    try:
        found = amount(text, 2)
    except QuantityError:
        return
    assert found.is_finite()
    assert 0 <= found <= MOST
    assert found == round(found, 2)


@STEADY
@given(
    st.decimals(min_value=-(10**9), max_value=10**9, places=5),
    st.sampled_from(sorted(MODES)),
    st.integers(0, 3),
)
def test_rounding_is_that_of_the_decimal_module(value, rounding, places):
    expected = value.quantize(Decimal(1).scaleb(-places), rounding=MODES[rounding])
    found = rounded(value, places, rounding)
    assert found == expected
    assert found.as_tuple().exponent == -places


@pytest.mark.parametrize(
    ("value", "half_up", "half_even", "up"),
    [
        ("0.125", "0.13", "0.12", "0.13"),
        ("0.135", "0.14", "0.14", "0.14"),
        ("0.121", "0.12", "0.12", "0.13"),
        ("0.12", "0.12", "0.12", "0.12"),
        ("-0.125", "-0.13", "-0.12", "-0.13"),
    ],
)
def test_a_half_goes_where_the_rule_says(value, half_up, half_even, up):
    found = [str(rounded(Decimal(value), 2, rule)) for rule in ("half_up", "half_even", "up")]
    assert found == [half_up, half_even, up]


def test_a_third_is_rounded_from_the_exact_fraction_and_not_from_its_decimals():
    assert str(rounded(Fraction(100, 3), 2, "up")) == "33.34"
    assert str(rounded(Fraction(1, 8) - Fraction(1, 10**40), 2, "half_up")) == "0.12"


def test_rounding_does_not_depend_on_the_decimal_context():
    with decimal.localcontext() as context:
        context.prec = 3
        assert str(rounded(Fraction(123456789012345, 100), 2, "half_up")) == "1234567890123.45"
