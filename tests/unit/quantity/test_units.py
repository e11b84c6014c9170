from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.quantity.parse import QuantityError, length_nm, parse
from gapwright.quantity.units import nearest_unit, read_unit

from tests.unit.measures import FT, IN, MM, M


@pytest.mark.parametrize(
    ("names", "factor"),
    [
        (("in", "in.", "inch", "inches", '"', "″", "”", "''", "IN", "Inches"), IN),
        (("ft", "ft.", "foot", "feet", "'", "′", "’", "FT"), FT),
        (("yd", "yard", "yards"), 3 * FT),
        (("mm", "millimeter", "millimetres", "MM"), MM),
        (("cm", "centimeters", "centimetre", "CM"), 10 * MM),
        (("m", "meter", "metres", "M"), M),
        (("µm", "micrometer", "micron"), MM // 1000),
        (("fathom",), Fraction(72 * IN * 1_000_000, 999_998)),
    ],
)
def test_every_spelling_of_a_length_has_the_one_factor(names, factor):
    assert {read_unit(name, "length") for name in names} == {("length", Fraction(factor))}


@pytest.mark.parametrize(
    ("names", "wanted", "factor"),
    [
        (("kg", "kilogram", "KG"), "mass", 1000),
        (("Mg", "t", "tonne"), "mass", 10**6),
        (("mg", "milligrams"), "mass", Fraction(1, 1000)),
        (("min", "minutes", "Min"), "time", 1),
        (("s", "seconds"), "time", Fraction(1, 60)),
        (("h", "hr", "hours", "H"), "time", 60),
        (("deg", "°", "degrees"), "angle", 1),
        (("grad",), "angle", Fraction(9, 10)),
        (("%", "percent"), "share", 1),
        (("kg/m³", "kg/m3", "kg/m^3", "kg/m**3", "g/L"), "density", 1000),
        (("g/cm³", "g/cc", "kg/L", "Mg/m³"), "density", 10**6),
    ],
)
def test_units_of_every_dimension_are_read_as_pint_knows_them(names, wanted, factor):
    assert {read_unit(name, wanted) for name in names} == {(wanted, Fraction(factor))}


@pytest.mark.parametrize(
    "name", ["inn", "x", "to", "nan", "inf", "in**2", "m*m", "9**9", "/m3", "_"]
)
def test_what_pint_does_not_know_by_name_is_no_unit(name):
    assert read_unit(name, "length") is None


@pytest.mark.parametrize("name", ["degC", "dB", "L", "kg/m", "kg/s³", "ppm", "volt"])
def test_a_unit_of_something_else_is_never_taken_for_one_of_ours(name):
    assert read_unit(name, "share")[0] not in {
        "length",
        "mass",
        "time",
        "angle",
        "share",
        "density",
    }
    with pytest.raises(QuantityError, match="something else, not share"):
        parse(f"3 {name}", "share", "20 %")


@pytest.mark.parametrize(("text", "near"), [("inn", "in"), ("feeet", "feet"), ("qqqq", "")])
def test_the_nearest_common_unit_is_named(text, near):
    assert nearest_unit(text) == near


def test_a_prefix_in_capitals_is_not_taken_for_a_small_one():
    assert length_nm("0.000001 Mm") == M
