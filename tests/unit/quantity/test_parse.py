from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.quantity.parse import LONGEST_TEXT, QuantityError, length_nm, parse
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, IN, MM, PROMPT, STEADY, M, inches

MARK = IN // 64
INCH_NAMES = ("in", " in", "in.", " inch", " inches", '"', ' "', "″", "”", "''", "′′", " IN", " In")
FOOT_NAMES = ("ft", " ft", "ft.", " foot", " feet", "'", "′", "’", " FT")
TAPE = "0123456789 ./,-+'\"½¼⅛⅔⁄″′×*^()_eEinftmclbdg%°"


@st.composite
def tape_inches(draw, most=48 * 64):
    """Return a count of sixty-fourths of an inch, and one way in which a tape would say it."""
    marks = draw(st.integers(min_value=0, max_value=most))
    whole, rest = divmod(marks, 64)
    part = Fraction(rest, 64)
    joint = draw(st.sampled_from((" ", "-", "  ", "\u00a0")))
    slash = draw(st.sampled_from(("/", " / ", "⁄")))
    fraction = f"{part.numerator}{slash}{part.denominator}"
    text = f"{whole}" if not rest else f"{whole}{joint}{fraction}" if whole else fraction
    if draw(st.booleans()):
        text = f"{float(Fraction(marks, 64))}"
    return marks, text + draw(st.sampled_from(INCH_NAMES))


def told(text, dimension="length", example="4 1/2 in"):
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension, example)
    return str(caught.value)


def test_every_sixty_fourth_of_an_inch_is_exact():
    for marks in range(1, 36 * 64 + 1):
        assert length_nm(f"{marks // 64} {marks % 64}/64 in") == marks * MARK


@STEADY
@given(tape_inches())
def test_inches_are_exact_in_whichever_way_a_tape_is_read_out(reading):
    marks, text = reading
    assert length_nm(text) == marks * MARK


@STEADY
@given(st.integers(0, 9999), st.sampled_from(FOOT_NAMES), tape_inches(most=12 * 64 - 1))
def test_feet_and_inches_add_up(feet, name, rest):
    marks, text = rest
    for between in ("", " "):
        assert length_nm(f"{feet}{name}{between}{text}") == feet * FT + marks * MARK


@STEADY
@given(st.integers(min_value=0, max_value=10**13), st.sampled_from((("mm", MM), ("m", M))))
def test_metric_lengths_are_exact_to_the_nanometre(nm, unit):
    name, size = unit
    whole, rest = divmod(nm, size)
    digits = f"{rest:0{len(str(size)) - 1}d}"
    assert length_nm(f"{whole}.{digits} {name}") == nm


@pytest.mark.parametrize(
    ("first", "second", "total"),
    [
        ("128.3 mm", "74.9 mm", "8 in"),
        ("75.0 mm", "77.4 mm", "6 in"),
        ("4 1/2 in", "2 in", "6.5 in"),
    ],
)
def test_sums_that_floating_point_misses_are_met_exactly(first, second, total):
    assert length_nm(first) + length_nm(second) == length_nm(total)


@pytest.mark.parametrize(
    ("sign", "part"),
    [
        ("½", "1/2"),
        ("¼", "1/4"),
        ("¾", "3/4"),
        ("⅛", "1/8"),
        ("⅜", "3/8"),
        ("⅝", "5/8"),
        ("⅞", "7/8"),
    ],
)
@pytest.mark.parametrize("whole", ["", "4", "4 "])
def test_a_fraction_sign_means_the_fraction_that_it_shows(sign, part, whole):
    assert length_nm(f"{whole}{sign} in") == inches(f"{whole} {part}")


@pytest.mark.parametrize(
    "text",
    ["6 ft 4 1/2 in", "6' 4 1/2\"", "6'4½\"", "6′ 4 1/2″", "6’ 4½”", "6ft4.5in", "76 1/2 in"],
)
def test_one_length_has_many_spellings(text):
    assert length_nm(text) == 6 * FT + 4 * IN + IN // 2


@pytest.mark.parametrize(
    ("text", "nm"), [("1 yd", 36 * IN), ("11.43 cm", 4 * IN + IN // 2), ("2.54 cm", IN)]
)
def test_other_units_of_length_are_exact_too(text, nm):
    assert length_nm(text) == nm


def test_a_length_finer_than_a_nanometre_goes_to_the_nearest_one():
    assert length_nm("1/3 in") == round(Fraction(IN, 3))
    assert length_nm("0.0000006 mm") == 1


@pytest.mark.parametrize(
    ("text", "dimension", "base"),
    [
        ("20 %", "share", 20),
        ("12.5 percent", "share", Fraction(25, 2)),
        ("70 deg", "angle", 70),
        ("70°", "angle", 70),
        ("1 lb", "mass", Fraction(45359237, 100000)),
        ("16 oz", "mass", Fraction(45359237, 100000)),
        ("1 1/2 h", "time", 90),
        ("1 kg/m³", "density", 1000),
        ("1 lb/ft^3", "density", Fraction(45359237, 100000) / Fraction(3048, 10000) ** 3),
    ],
)
def test_other_dimensions_are_exact_in_their_base_unit(text, dimension, base):
    assert parse(text, dimension, "1 in") == base


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("4.5", "no unit"),
        ("4 1/2", "no unit"),
        ("1/2", "no unit"),
        ("½", "no unit"),
        ("-4 in", "negative"),
        ("−4 in", "negative"),
        ("–4 in", "negative"),
        ("4,5 in", "comma"),
        ("1,000 ft", "comma"),
        ("1e3 mm", "exponent"),
        ("1E3 mm", "exponent"),
        ("2.5e-1 m", "exponent"),
        ("nan in", "not a quantity"),
        ("NaN", "not a quantity"),
        ("inf ft", "not a quantity"),
        ("Infinity m", "not a quantity"),
        ("", "empty"),
        (" \t ", "empty"),
        ("in", "not a quantity"),
        ("4 in 1/2", "not a quantity"),
        ("6 ft 3", "not a quantity"),
        ("4 1/2 1/4 in", "not a quantity"),
        ("4 / in", "not a quantity"),
        ("+4 in", "not a quantity"),
        ("~4 in", "not a quantity"),
        ("4 to 5 in", "unknown unit"),
        ("4 x 5 in", "unknown unit"),
        ("9**9**9 m", "unknown unit"),
        ("4 parsek", "unknown unit"),
        ("4 in**2", "not a quantity"),
        ("0x10 in", "unknown unit"),
        ("1_000 ft", "unknown unit"),
        ("4 lb", "mass, not length"),
        ("4 min", "time, not length"),
        ("4 deg", "angle, not length"),
        ("4 %", "share, not length"),
        ("1/0 in", "divides by zero"),
        ("4 5/4 in", "mixed number"),
        ("4.5 1/2 in", "mixed number"),
        ("6 ft 12 in", "less than 12"),
        ("6 1/2 ft 3 in", "feet and inches"),
        ("3 in 6 ft", "feet and inches"),
        ("1 yd 3 in", "feet and inches"),
        ("6 ft 3 lb", "mass, not length"),
        ("1 m 20 cm", "feet and inches"),
        ("4 in 4 in 4 in", "feet and inches"),
        ("٤ in", "not a quantity"),
        ("４ in", "not a quantity"),
        ("1" * 30 + " in", "not a quantity"),
        ("4 in" + " " * LONGEST_TEXT, "longer than"),
    ],
)
def test_what_is_no_length_is_refused_with_the_reason_and_an_example(text, why):
    message = told(text)
    assert why in message
    assert message.endswith("such as 4 1/2 in.")


@pytest.mark.parametrize("text", ["4½2 in", "½3 in", "3 ½4 in", "4½½ in", "¼½ in", "½/2 in"])
def test_a_fraction_sign_is_never_glued_to_the_digits_after_it(text):
    assert "not a quantity" in told(text)


@pytest.mark.parametrize(("text", "meant"), [("4 inn", "in"), ("4 feeet", "feet"), ("4 mmm", "mm")])
def test_a_misspelt_unit_is_told_with_the_nearest_one(text, meant):
    assert f"Did you mean '{meant}'?" in told(text)


@PROMPT
@given(
    st.text(max_size=60) | st.text(alphabet=TAPE, max_size=45), st.sampled_from(["length", "share"])
)
def test_any_text_is_an_exact_quantity_or_is_refused_with_an_example(text, dimension):
    try:
        found = parse(text, dimension, "4 1/2 in")
    except QuantityError as error:
        found = str(error)
    if isinstance(found, str):
        assert found.endswith("such as 4 1/2 in.")
    else:
        assert isinstance(found, Fraction)
        assert found >= 0


@PROMPT
@given(st.text(alphabet="0123456789 ./½¼⅞⁄,-", max_size=40))
def test_no_bare_number_is_ever_read(text):
    with pytest.raises(QuantityError):
        parse(text, "length", "4 1/2 in")


@pytest.mark.parametrize("size", [10**3, 10**6])
@pytest.mark.parametrize("piece", ["9", "9 ", "1/", "½", "' ", "in", "\u00a0", "\x00"])
def test_a_huge_text_is_refused_for_its_length_alone(piece, size):
    message = told(piece * (size // len(piece)))
    assert "longer than" in message
    assert len(message) < 200


@PROMPT
@given(st.text(alphabet=TAPE, max_size=30), st.sampled_from([" ", "\u00a0", "\u2009", "\t", "\n"]))
def test_the_kind_and_amount_of_white_space_never_change_a_length(text, space):
    spaced = text.replace(" ", space * 2 if len(text) < 15 else space)
    assert outcome(spaced) == outcome(text)


def outcome(text):
    try:
        return parse(text, "length", "4 1/2 in")
    except QuantityError:
        return None


@pytest.mark.parametrize("number", [0.1 + 0.2, 20 + 3.99, 1.1e-6 / 3 + 0.0001, 2 / 3, 1e8 / 3])
def test_a_number_written_out_as_programs_do_is_read_to_the_nearest_nanometre(number):
    text = f"{number!r} m"
    assert length_nm(text) == round(Fraction(repr(number)) * 10**9)
    assert length_nm(f"{number:.24f}"[:36] + " m") == pytest.approx(number * 1e9, abs=1)
