"""Units: the factors of gapwright.quantity against figures that nobody here chose.

Sources, and how far each was read:
- NIST Special Publication 811 (2008 edition), appendix B.8: inch 2.54 E-02 m, foot 3.048 E-01 m
  and yard 9.144 E-01 m, in bold type there, so exact; pound (avoirdupois) 4.535 924 E-01 kg and
  ounce 2.834 952 E-02 kg, rounded to seven figures; footnote to the pound: exactly
  4.535 923 7 E-01 kg. Read in secondary copies.
- scipy.constants and the unit definitions that pint ships with. Computed.
- The sums in millimetres and the seven spans: plain arithmetic. Computed.

Tolerance: none where a factor is exact (fractions are compared). A rounded figure may be off by
half of its last printed digit. scipy keeps binary floats, some of them made by multiplying twice:
two units in the last place (2^-51 of the value) is what that can cost.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil

import pint
import pytest
import scipy.constants
from gapwright.quantity.parse import length_nm, parse
from gapwright.quantity.units import read_unit
from gapwright.quantity.whole import whole
from hypothesis import given
from hypothesis import strategies as st

NM_PER_M = 10**9
G_PER_KG = 1000


@pytest.fixture(scope="module")
def shipped_units():
    """Return a registry of pint as it ships, apart from the one of the service."""
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(
    ("unit", "metres"), [("in", "2.54E-02"), ("ft", "3.048E-01"), ("yd", "9.144E-01")]
)
def test_a_length_that_nist_prints_in_bold_is_exact(unit, metres):
    assert read_unit(unit, "length") == ("length", Fraction(Decimal(metres)) * NM_PER_M)


def test_the_pound_is_the_exact_one_of_the_footnote():
    assert read_unit("lb", "mass") == ("mass", Fraction(Decimal("4.5359237E-01")) * G_PER_KG)


@pytest.mark.parametrize(("unit", "kilograms"), [("lb", "4.535924E-01"), ("oz", "2.834952E-02")])
def test_a_mass_rounds_to_the_figure_that_nist_prints(unit, kilograms):
    printed = Decimal(kilograms)
    half_a_digit = Fraction(Decimal((0, (5,), printed.as_tuple().exponent - 1)))
    assert abs(read_unit(unit, "mass")[1] / G_PER_KG - Fraction(printed)) <= half_a_digit


@pytest.mark.parametrize(
    ("unit", "si", "base_per_si"),
    [
        ("in", scipy.constants.inch, NM_PER_M),
        ("ft", scipy.constants.foot, NM_PER_M),
        ("yd", scipy.constants.yard, NM_PER_M),
        ("mm", scipy.constants.milli, NM_PER_M),
        ("cm", scipy.constants.centi, NM_PER_M),
        ("lb", scipy.constants.pound, G_PER_KG),
        ("oz", scipy.constants.ounce, G_PER_KG),
        ("h", scipy.constants.hour, Fraction(1, 60)),
        ("min", scipy.constants.minute, Fraction(1, 60)),
    ],
)
def test_scipy_has_the_same_factor_as_far_as_a_float_goes(unit, si, base_per_si):
    ours = read_unit(unit, "length")[1]
    assert abs(ours - Fraction(si) * base_per_si) <= ours / 2**51


@pytest.mark.parametrize(
    ("unit", "theirs", "base"),
    [
        ("m", "metre", "nanometre"),
        ("mm", "millimetre", "nanometre"),
        ("cm", "centimetre", "nanometre"),
        ("in", "inch", "nanometre"),
        ("ft", "foot", "nanometre"),
        ("yd", "yard", "nanometre"),
        ("kg", "kilogram", "gram"),
        ("g", "gram", "gram"),
        ("lb", "pound", "gram"),
        ("oz", "ounce", "gram"),
        ("h", "hour", "minute"),
        ("min", "minute", "minute"),
    ],
)
def test_the_units_that_pint_ships_with_have_exactly_the_same_factor(
    unit, theirs, base, shipped_units
):
    factor = shipped_units.Quantity(Fraction(1), theirs).m_as(base)
    assert isinstance(factor, Fraction)
    assert read_unit(unit, "length")[1] == factor


@given(
    number=st.decimals("0.001", "9999", places=9),
    unit=st.sampled_from(["in", "ft", "yd", "mm", "cm", "m"]),
)
def test_a_length_is_the_nearest_nanometre_to_what_pint_makes_of_it(shipped_units, number, unit):
    theirs = shipped_units.Quantity(Fraction(number), unit).m_as("nanometre")
    assert abs(length_nm(f"{number:f} {unit}") - theirs) <= Fraction(1, 2)


@given(feet=st.integers(1, 500), inches=st.integers(0, 11), sixteenths=st.integers(1, 15))
def test_feet_inches_and_a_fraction_add_up_as_in_pint(shipped_units, feet, inches, sixteenths):
    theirs = shipped_units.Quantity(Fraction(feet), "ft") + shipped_units.Quantity(
        inches + Fraction(sixteenths, 16), "in"
    )
    part = f"{inches} {sixteenths}/16" if inches else f"{sixteenths}/16"
    assert parse(f"{feet} ft {part} in", "length", "1 ft") == theirs.m_as("nanometre")


@pytest.mark.parametrize(("first", "second", "inches"), [("128.3", "74.9", 8), ("75.0", "77.4", 6)])
def test_millimetres_that_add_up_to_whole_inches_do_so_here_and_not_in_floats(
    first, second, inches
):
    assert length_nm(f"{first} mm") + length_nm(f"{second} mm") == length_nm(f"{inches} in")
    assert Fraction(first) + Fraction(second) == Fraction("25.4") * inches
    assert float(first) + float(second) != 25.4 * inches


def test_seven_spans_of_three_tenths_of_a_metre_are_seven_here_and_eight_in_floats():
    assert whole(7 * length_nm("0.3 m"), length_nm("0.3 m")) == 7
    assert whole(length_nm("2.1 m"), length_nm("300 mm")) == 7
    assert ceil(7 * 0.3 / 0.3) == 8
