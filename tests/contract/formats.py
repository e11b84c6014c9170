"""Valid texts for the string formats of the contract, in all the notations of a tape measure.

Each strategy draws what is meant (a length in nanometres, a day, a rule set) and writes it down, so
that a test can compare what the service reads with what was meant. Nothing here uses the service's
own writer or reader; the bounds are those of `service/quantity/kinds.py`.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import NamedTuple

from hypothesis import strategies as st

from service.quantity.kinds import (
    Gap,
    ModuleSide,
    Nm,
    Perimeter,
    Position,
    Reading,
    RollLength,
    StripWidth,
)
from service.quantity.parse import length_nm

NM_PER_IN = 25_400_000
NM_PER_64TH = NM_PER_IN // 64
NM_PER_FT = 12 * NM_PER_IN
NM_PER_UM = 1_000

SOLD_FT = (50, 100)
RULESETS = ("baseline", "baseline@1.0.0")
ZONES = ("visible", "exposed")
FIRST_DAY = date(2026, 1, 1)
"""Rolls, names, zones and first day in force of the rule set that the service comes with."""

INCHES = ("in", "in.", "inch", "inches", '"', "″", "”", "''", "′′", "IN", "Inches")
FEET = ("ft", "ft.", "foot", "feet", "'", "′", "’", "FT")
YARDS = ("yd", "yard", "yards")
METRIC = {
    "mm": 1_000_000,
    "millimetres": 1_000_000,
    "millimeters": 1_000_000,
    "MM": 1_000_000,
    "cm": 10_000_000,
    "centimetre": 10_000_000,
    "m": 1_000_000_000,
    "meters": 1_000_000_000,
}
SIGNS = {
    Fraction(1, 2): "½",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
    Fraction(1, 8): "⅛",
    Fraction(3, 8): "⅜",
    Fraction(5, 8): "⅝",
    Fraction(7, 8): "⅞",
}


class Written(NamedTuple):
    """A length and one way to write it."""

    nm: int
    text: str


def decimal(number: Fraction) -> str | None:
    """Return a number with its decimals written out, None where more than twelve are needed."""
    scaled = number * 10**12
    if scaled.denominator != 1:
        return None
    whole, rest = divmod(int(scaled), 10**12)
    digits = f"{rest:012}".rstrip("0")
    return f"{whole}.{digits}" if digits else str(whole)


@st.composite
def fractions(draw: st.DrawFn, part: Fraction) -> str:
    """Write a proper fraction: with a slash, the fraction slash, spaces, or as one sign."""
    times = draw(st.sampled_from((1, 1, 2, 4)))
    above, below = part.numerator * times, part.denominator * times
    slash = draw(st.sampled_from(("/", "/", " / ", "⁄")))
    ways = [f"{above}{slash}{below}"]
    if part in SIGNS:
        ways.append(SIGNS[part])
    return draw(st.sampled_from(ways))


@st.composite
def mixed(draw: st.DrawFn, number: Fraction) -> str:
    """Write a number of a tape: `4 1/2`, `4-1/2`, `4½`, `9/2`, `1/2`, `4.5`, `4`."""
    whole, part = divmod(number, 1)
    ways = [written for written in (decimal(number),) if written is not None]
    if part:
        text = draw(fractions(part))
        if not whole:
            ways.append(text)
        else:
            ways.append(f"{whole} {text}")
            ways.append(f"{whole}{text}" if text in SIGNS.values() else f"{whole}-{text}")
    if number.numerator < 10_000:
        ways.append(f"{number.numerator}/{number.denominator}")
    return draw(st.sampled_from(ways))


@st.composite
def padded(draw: st.DrawFn, number: str, units: tuple[str, ...]) -> str:
    """Join a number and a unit, with or without a space."""
    between = draw(st.sampled_from((" ", "", "  ", "\u00a0")))
    return f"{number}{between}{draw(st.sampled_from(units))}"


@st.composite
def inches(draw: st.DrawFn, least_nm: int, most_nm: int) -> Written:
    """A length in sixty-fourths of an inch, in inches."""
    marks = draw(st.integers(-(-least_nm // NM_PER_64TH), most_nm // NM_PER_64TH))
    number = draw(mixed(Fraction(marks, 64)))
    return Written(marks * NM_PER_64TH, draw(padded(number, INCHES)))


@st.composite
def feet(draw: st.DrawFn, least_nm: int, most_nm: int) -> Written:
    """A length in eighths of an inch, in feet or yards."""
    step = NM_PER_FT // 96
    marks = draw(st.integers(-(-least_nm // step), most_nm // step))
    units, feet_each = draw(st.sampled_from(((FEET, 1), (YARDS, 3))))
    number = draw(mixed(Fraction(marks, 96 * feet_each)))
    return Written(marks * step, draw(padded(number, units)))


@st.composite
def feet_and_inches(draw: st.DrawFn, least_nm: int, most_nm: int) -> Written:
    """A length in sixty-fourths of an inch, in feet and inches."""
    marks = draw(st.integers(-(-least_nm // NM_PER_64TH), most_nm // NM_PER_64TH))
    whole_feet, rest = divmod(marks, 12 * 64)
    over = draw(mixed(Fraction(rest, 64)))
    first = draw(padded(str(whole_feet), FEET[:-1]))
    text = f"{first} {draw(padded(over, INCHES[:-2]))}"
    return Written(marks * NM_PER_64TH, text)


@st.composite
def metric(draw: st.DrawFn, least_nm: int, most_nm: int) -> Written:
    """A length in micrometres, in millimetres, centimetres or metres."""
    unit = draw(st.sampled_from(sorted(METRIC)))
    nm = NM_PER_UM * draw(st.integers(-(-least_nm // NM_PER_UM), most_nm // NM_PER_UM))
    number = decimal(Fraction(nm, METRIC[unit]))
    assert number is not None
    return Written(nm, draw(padded(number, (unit,))))


def lengths(least_nm: int, most_nm: int) -> st.SearchStrategy[Written]:
    """Lengths between two bounds, both included, in every notation."""
    notations = (inches, feet, feet_and_inches, metric)
    ways = [notation(least_nm, most_nm) for notation in notations]
    return st.one_of(ways).filter(lambda written: len(written.text) <= 40)


def lengths_of(kind: type[Nm]) -> st.SearchStrategy[Written]:
    """Lengths that a kind of quantity takes."""
    return lengths(length_nm(kind.least), length_nm(kind.most))


@st.composite
def positions(draw: st.DrawFn) -> Written:
    """Places on the roof plane, on both sides of its origin."""
    nm, text = draw(lengths(0, length_nm(Position.most)))
    sign = draw(st.sampled_from(("", "-", "−", "- ")))
    return Written(-nm if sign else nm, f"{sign}{text}") if len(text) < 39 else Written(nm, text)


@st.composite
def shares(draw: st.DrawFn) -> str:
    """Parts of a whole from nothing to a half, as percentages."""
    tenths = draw(st.integers(0, 500))
    return draw(padded(draw(mixed(Fraction(tenths, 10))), ("%", "percent")))


def sold_rolls() -> st.SearchStrategy[Written]:
    """The lengths of roll that the baseline sells, in every notation."""
    return st.sampled_from(SOLD_FT).flatmap(lambda ft: lengths(ft * NM_PER_FT, ft * NM_PER_FT))


LENGTHS: dict[str, tuple[type[Nm], st.SearchStrategy[Written]]] = {
    kind.format: (kind, lengths_of(kind))
    for kind in (Reading, StripWidth, Perimeter, ModuleSide, Gap)
} | {RollLength.format: (RollLength, sold_rolls()), Position.format: (Position, positions())}

FORMATS: dict[str, st.SearchStrategy[str]] = {
    name: written.map(lambda way: way.text) for name, (_, written) in LENGTHS.items()
} | {
    "share": shares(),
    "ruleset-name": st.sampled_from(RULESETS),
    "zone-name": st.sampled_from(ZONES),
    "in-force-date": st.dates(FIRST_DAY, date(9999, 12, 31)).map(date.isoformat),
}
"""A strategy for each string format of the contract that is not in JSON Schema."""
