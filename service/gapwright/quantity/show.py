"""Format quantities for answers: a number for programs, and text as a tape measure reads.

Imperial text has sixteenths of an inch, metric text whole millimeters. Text that cannot show a
length exactly is rounded in the direction that the caller gives as safe, and `rounded` says so.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import gcd
from typing import Annotated, Literal

import msgspec

from gapwright.quantity.whole import whole

NM_PER_IN = 25_400_000
NM_PER_FT = 12 * NM_PER_IN
NM_PER_MM = 1_000_000
NM_PER_M = 1000 * NM_PER_MM
_NOTHING = 0.000_01
_NM_PER_SIXTEENTH = NM_PER_IN // 16
_G_PER_LB = 453.59237

System = Literal["imperial", "metric"]
MARKS_NM: dict[System, int] = {"imperial": _NM_PER_SIXTEENTH, "metric": NM_PER_MM}
"""The finest tape marks that text shows: a sixteenth of an inch, a millimeter."""
Safe = Literal["up", "down"]
LengthUnit = Literal["in", "ft", "mm", "m"]
ItemUnit = Literal["each", "in", "ft", "mm", "m"]
Money = Annotated[str, msgspec.Meta(pattern="^-?[0-9]+([.][0-9]+)?$", examples=["128.40"])]


class Length(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A length in an answer.

    `value` and `unit` are for programs (six decimals). `text` is for people and reads like a tape
    measure. `rounded` is present only if the text does not show the length exactly.
    """

    value: float
    """The length in `unit`, with up to six decimals."""
    unit: LengthUnit
    """The unit of `value`."""
    text: Annotated[str, msgspec.Meta(examples=["4 1/2 in", "6 ft 4 1/2 in", "114 mm"])]
    """The length as a tape measure reads, for people."""
    rounded: Safe | msgspec.UnsetType = msgspec.UNSET
    """The direction in which `text` is rounded. Left out if `text` is exact."""


class Weight(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A weight in an answer; the text has up to three digits, or whole units from 100 up."""

    value: float
    """The weight in `unit`."""
    unit: Literal["lb", "kg"]
    """Pounds or kilograms."""
    text: Annotated[str, msgspec.Meta(examples=["33.4 lb"])]
    """The weight for people."""


class Duration(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A time in an answer: hours, and text in hours and minutes, rounded up to whole minutes."""

    value: float
    """The time in hours."""
    unit: Literal["h"]
    """Hours."""
    text: Annotated[str, msgspec.Meta(examples=["5 h 40 min"])]
    """The time in hours and minutes, for people."""


@lru_cache(maxsize=8192)
def short(nm: int, system: System, safe: Safe) -> Length:
    """Return a length in the channel's section, in inches or millimeters. `nm` can be negative."""
    if system == "imperial":
        marks, exact = _marks(nm, _NM_PER_SIXTEENTH, safe)
        return _length(nm, NM_PER_IN, "in", f"{_sixteenths(marks)} in", exact, safe)
    marks, exact = _marks(nm, NM_PER_MM, safe)
    return _length(nm, NM_PER_MM, "mm", f"{marks} mm", exact, safe)


@lru_cache(maxsize=8192)
def long(nm: int, system: System, safe: Safe) -> Length:
    """Return a length along the array: feet (text in feet and inches) or meters."""
    if system == "imperial":
        marks, exact = _marks(nm, _NM_PER_SIXTEENTH, safe)
        return _length(nm, NM_PER_FT, "ft", _feet_text(marks), exact, safe)
    marks, exact = _marks(nm, NM_PER_MM, safe)
    return _length(nm, NM_PER_M, "m", f"{decimal(marks / 1000)} m", exact, safe)


def weight(grams: float, system: System) -> Weight:
    """Return a weight in pounds or kilograms."""
    value = grams / (_G_PER_LB if system == "imperial" else 1000)
    unit: Literal["lb", "kg"] = "lb" if system == "imperial" else "kg"
    digits = 0 if value >= 100 else 1 if value >= 10 else 2
    return Weight(value=decimal(round(value, 3)), unit=unit, text=f"{value:.{digits}f} {unit}")


def duration(minutes: Fraction) -> Duration:
    """Return a time in hours; the text is rounded up to whole minutes."""
    hours, rest = divmod(whole(minutes.numerator, minutes.denominator), 60)
    parts = [f"{hours} h"] * bool(hours) + [f"{rest} min"] * bool(rest or not hours)
    return Duration(value=decimal(float(minutes / 60)), unit="h", text=" ".join(parts))


def decimal(number: float) -> float:
    """Return a number with six decimals, in a form that JSON writes without dot-zero or exponent.

    Whole numbers are ints; anything below 0.00001 is zero.
    """
    rounded = round(float(number), 6)
    if rounded.is_integer() or -_NOTHING < rounded < _NOTHING:
        return int(rounded)
    return rounded


def _length(nm: int, unit_nm: int, unit: LengthUnit, text: str, exact: bool, safe: Safe) -> Length:
    rounded = msgspec.UNSET if exact else safe
    return Length(value=decimal(nm / unit_nm), unit=unit, text=text, rounded=rounded)


def _marks(nm: int, mark_nm: int, safe: Safe) -> tuple[int, bool]:
    """Return a length in tape marks, and whether it is exact."""
    marks = whole(nm, mark_nm) if safe == "up" else nm // mark_nm
    return marks, marks * mark_nm == nm


def _sixteenths(marks: int) -> str:
    """Return a count of sixteenths of an inch as a tape reads: `4 1/2`, `3/8`, `0`."""
    sign, marks = ("-", -marks) if marks < 0 else ("", marks)
    inches, rest = divmod(marks, 16)
    if not rest:
        return f"{sign}{inches}"
    common = gcd(rest, 16)
    fraction = f"{rest // common}/{16 // common}"
    return f"{sign}{inches} {fraction}" if inches else f"{sign}{fraction}"


def _feet_text(marks: int) -> str:
    sign, marks = ("-", -marks) if marks < 0 else ("", marks)
    feet, rest = divmod(marks, 12 * 16)
    if not rest:
        return f"{sign}{feet} ft"
    inches = f"{_sixteenths(rest)} in"
    return f"{sign}{feet} ft {inches}" if feet else f"{sign}{inches}"
