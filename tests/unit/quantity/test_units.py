from __future__ import annotations

from fractions import Fraction

import pytest

from service.quantity.parse import parse
from service.quantity.units import UNITS
from tests.unit.measures import FT, IN, MM, M

LENGTHS = {name: factor for name, (dimension, factor) in UNITS.items() if dimension == "length"}


@pytest.mark.parametrize(
    ("names", "factor"),
    [
        (("in", "in.", "inch", "inches", '"', "″", "”", "''"), IN),
        (("ft", "ft.", "foot", "feet", "'", "′", "’"), FT),
        (("yd", "yard", "yards"), 3 * FT),
        (("mm", "millimeter", "millimetres"), MM),
        (("cm", "centimeters", "centimetre"), 10 * MM),
        (("m", "meter", "metres"), M),
    ],
)
def test_every_spelling_of_a_length_has_the_one_factor(names, factor):
    assert {UNITS[name] for name in names} == {("length", Fraction(factor))}


def test_every_unit_of_length_is_a_whole_count_of_nanometres():
    assert {name for name, factor in LENGTHS.items() if factor.denominator != 1} == set()


@pytest.mark.parametrize("name", UNITS)
def test_every_spelling_that_is_listed_can_be_written_after_a_number(name):
    dimension, factor = UNITS[name]
    assert parse(f"3 {name}", dimension, "") == 3 * factor
    assert parse(f"3{name}", dimension, "") == 3 * factor


def test_no_two_spellings_differ_in_case_alone():
    assert len({name.lower() for name in UNITS}) == len(UNITS)


def test_no_spelling_begins_with_a_digit_or_holds_white_space():
    assert [name for name in UNITS if name[0].isdigit() or any(c.isspace() for c in name)] == []
