"""Valid texts for the string formats of the contract, in all the notations of a tape measure.

Each strategy draws what is meant (a length in nanometres, a day, a rule set) and a hand that writes
it down, so that a test can compare what the service reads with what was meant. Nothing here uses
the service's own writer; the bounds are those of `gapwright.quantity.kinds`. Two integers are all
that is drawn for a length: large requests hold thousands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple, TypeVar

from gapwright.quantity.kinds import (
    Gap,
    ModuleSide,
    Nm,
    Perimeter,
    Position,
    Reading,
    RollLength,
    StripWidth,
)
from gapwright.quantity.parse import length_nm
from hypothesis import strategies as st

T = TypeVar("T")

NM_PER_IN = 25_400_000
NM_PER_FT = 12 * NM_PER_IN
NM_PER_64TH = NM_PER_IN // 64
NM_PER_8TH = NM_PER_IN // 8
NM_PER_UM = 1_000

SOLD_FT = (50, 100)
RULESETS = ("baseline", "baseline@1.0.0", "baseline@1.2.0")
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
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
}


class Written(NamedTuple):
    """A length and one way to write it."""

    nm: int
    text: str


class Hand:
    """Writes numbers and units in one of many ways, all told by one integer."""

    def __init__(self, style: int) -> None:
        self._style = style

    def choose(self, ways: Sequence[T]) -> T:
        """Return one of some ways."""
        self._style, at = divmod(self._style, len(ways))
        return ways[at]

    def fraction(self, part: Fraction) -> str:
        """Write a proper fraction: with a slash, the fraction slash, spaces, or as one sign."""
        times = self.choose((1, 1, 2, 4))
        slash = self.choose(("/", "/", " / ", "⁄"))
        spelled = f"{part.numerator * times}{slash}{part.denominator * times}"
        return self.choose((spelled, SIGNS.get(part, spelled)))

    def number(self, number: Fraction) -> str:
        """Write a number as on a tape: `4 1/2`, `4-1/2`, `4½`, `9/2`, `1/2`, `4.5`, `4`."""
        whole, part = divmod(number, 1)
        ways = [written for written in (decimal(number),) if written is not None]
        if part:
            text = self.fraction(part)
            joints = (" ", "") if text in SIGNS.values() else (" ", "-")
            ways.append(f"{whole}{self.choose(joints)}{text}" if whole else text)
        if number.numerator < 10_000:
            ways.append(f"{number.numerator}/{number.denominator}")
        return self.choose(ways)

    def quantity(self, number: Fraction, units: Sequence[str]) -> str:
        """Write a number and its unit, with or without a space."""
        return f"{self.number(number)}{self.choose((' ', '', '  ', chr(160)))}{self.choose(units)}"


def decimal(number: Fraction) -> str | None:
    """Return a number with its decimals written out, None where more than twelve are needed."""
    scaled = number * 10**12
    if scaled.denominator != 1:
        return None
    whole, rest = divmod(int(scaled), 10**12)
    digits = f"{rest:012}".rstrip("0")
    return f"{whole}.{digits}" if digits else str(whole)


def in_inches(nm: int, hand: Hand) -> str:
    """Write sixty-fourths of an inch."""
    return hand.quantity(Fraction(nm, NM_PER_IN), INCHES)


def in_feet(nm: int, hand: Hand) -> str:
    """Write eighths of an inch, in feet or yards."""
    units, each = hand.choose(((FEET, 1), (YARDS, 3)))
    return hand.quantity(Fraction(nm, NM_PER_FT * each), units)


def in_feet_and_inches(nm: int, hand: Hand) -> str:
    """Write sixty-fourths of an inch, in feet and inches."""
    whole_feet, rest = divmod(nm, NM_PER_FT)
    first = f"{whole_feet}{hand.choose((' ', ''))}{hand.choose(FEET[:-1])}"
    return f"{first} {hand.quantity(Fraction(rest, NM_PER_IN), INCHES[:-2])}"


def in_metric(nm: int, hand: Hand) -> str:
    """Write micrometres, in millimetres, centimetres or metres."""
    unit = hand.choose(tuple(METRIC))
    return f"{decimal(Fraction(nm, METRIC[unit]))}{hand.choose((' ', ''))}{unit}"


NOTATIONS: tuple[tuple[int, Callable[[int, Hand], str]], ...] = (
    (NM_PER_64TH, in_inches),
    (NM_PER_8TH, in_feet),
    (NM_PER_64TH, in_feet_and_inches),
    (NM_PER_UM, in_metric),
)
"""Each notation, and the steps in which it can write a length exactly."""


def lengths(least_nm: int, most_nm: int) -> st.SearchStrategy[Written]:
    """Lengths between two bounds, both included, in every notation."""

    def written(nm: int, style: int) -> Written:
        hand = Hand(style)
        step, notation = hand.choose(NOTATIONS)
        nm = max(nm // step, -(-least_nm // step)) * step
        text = notation(nm, hand)
        return Written(nm, text) if len(text) <= 38 else Written(nm, in_metric(nm, Hand(0)))

    styles = st.integers(0, 2**24 - 1)
    return st.builds(written, st.integers(least_nm, most_nm) | st.just(most_nm), styles)


def lengths_of(kind: type[Nm]) -> st.SearchStrategy[Written]:
    """Lengths that a kind of quantity takes."""
    return lengths(length_nm(kind.least), length_nm(kind.most))


def positions() -> st.SearchStrategy[Written]:
    """Places on the roof plane, on both sides of its origin."""

    def signed(length: Written, sign: str) -> Written:
        return Written(-length.nm if sign else length.nm, f"{sign}{length.text}")

    signs = st.sampled_from(("", "-", "−", "- "))
    return st.builds(signed, lengths(0, length_nm(Position.most)), signs)


def shares() -> st.SearchStrategy[str]:
    """Parts of a whole from nothing to a half, as percentages."""

    def written(tenths: int, style: int) -> str:
        return Hand(style).quantity(Fraction(tenths, 10), ("%", "percent"))

    return st.builds(written, st.integers(0, 500), st.integers(0, 2**16))


def working_days() -> st.SearchStrategy[str]:
    """Days from one hour to twenty-four, in hours or in minutes."""
    return st.integers(60, 24 * 60).map(lambda minutes: f"{minutes} min") | st.integers(1, 24).map(
        lambda hours: f"{hours} h"
    )


def sold_rolls() -> st.SearchStrategy[Written]:
    """The lengths of roll that the baseline sells, in every notation."""
    return st.one_of([lengths(feet * NM_PER_FT, feet * NM_PER_FT) for feet in SOLD_FT])


def days() -> st.SearchStrategy[str]:
    """Days, on most of which some version of the baseline is in force."""
    in_force = st.dates(FIRST_DAY, date(9999, 12, 31))
    return st.one_of(in_force, in_force, in_force, st.dates()).map(date.isoformat)


LENGTHS: dict[str, tuple[type[Nm], st.SearchStrategy[Written]]] = {
    kind.format: (kind, lengths_of(kind))
    for kind in (Reading, StripWidth, Perimeter, ModuleSide, Gap)
} | {RollLength.format: (RollLength, sold_rolls()), Position.format: (Position, positions())}

FORMATS: dict[str, st.SearchStrategy[str]] = {
    name: written.map(lambda way: way.text) for name, (_, written) in LENGTHS.items()
} | {
    "share": shares(),
    "working-day": working_days(),
    "ruleset-name": st.sampled_from(RULESETS),
    "zone-name": st.sampled_from(ZONES),
    "pricebook-name": st.sampled_from(["demo", "demo@1.0.0", "seacliff@1"]),
    "date": days(),
}
"""A strategy for each string format of the contract."""
