"""The kinds of quantity in a request: what they measure, and their limits.

The limits here only catch impossible values (no roof has a clearance of 40 ft). The thresholds of
the trade are in the rule files.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar, Self

from msgspec import UNSET

from gapwright.quantity.parse import QuantityError, length_nm, parse
from gapwright.quantity.show import NM_PER_M, NM_PER_MM, long, short


class Nm(int):
    """A length in whole nanometers, parsed from text. Subclasses set the limits of one field.

    A length can be zero only if `least` is zero, and negative only if `least` is negative.
    """

    description: ClassVar[str] = "a length"
    example: ClassVar[str] = "4 1/2 in"
    format: ClassVar[str] = "length"
    least: ClassVar[str] = "1/64 in"
    most: ClassVar[str] = "40 ft"

    @classmethod
    def read(cls, text: str) -> Nm:
        """Return the length that a string gives. Raises QuantityError."""
        plain = text.strip()
        signed = cls.least.startswith("-") and plain.startswith(("-", "−"))
        size = length_nm(plain[1:].strip() if signed else plain, cls.example)
        if size == 0 and _signed_nm(cls.least) > 0:
            raise QuantityError(f'"{text}" is zero. {cls.limits()}')
        nm = -size if signed else size
        if not _signed_nm(cls.least) <= nm <= length_nm(cls.most):
            raise QuantityError(f'"{text}" is out of range for {cls.description}. {cls.limits()}')
        return cls(nm)

    def written(self) -> str:
        """Return text that gives exactly this length: as a tape reads, or else in millimeters."""
        shown = long(self, "imperial", "down")
        if shown.rounded is UNSET:
            return shown.text
        return f"{Decimal(self) / NM_PER_MM:f} mm"

    @classmethod
    def limits(cls) -> str:
        """Return the limits as a sentence, in feet and inches and in meters or millimeters."""
        least, most = length_nm(cls.least.removeprefix("-")), length_nm(cls.most)
        show = long if most > 10 * NM_PER_M else short
        sign = "-" if cls.least.startswith("-") else ""
        metric = f"{sign}{show(least, 'metric', 'up').text} to {show(most, 'metric', 'down').text}"
        return f"Expected {cls.least} to {cls.most} ({metric}), such as {cls.example}."


def _signed_nm(text: str) -> int:
    return -length_nm(text[1:]) if text.startswith("-") else length_nm(text)


class Reading(Nm):
    """One reading of the clearance: roof surface to the underside of the module frame."""

    description = "a clearance under a module"
    example = "4 1/2 in"
    format = "clearance-reading"
    least = "1/8 in"
    most = "36 in"


class StripWidth(Nm):
    """The width of a mesh strip as cut from the roll, flat."""

    description = "a strip width"
    example = "8 in"
    format = "strip-width"
    least = "1 in"
    most = "48 in"


class Perimeter(Nm):
    """The length around an array, or around all arrays of a job."""

    description = "a perimeter"
    example = "90 ft"
    format = "perimeter"
    least = "1 ft"
    most = "20000 ft"


class RollLength(Nm):
    """The length of mesh on one roll."""

    description = "a roll length"
    example = "100 ft"
    format = "roll-length"
    least = "1 ft"
    most = "2000 ft"


class Position(Nm):
    """A coordinate on the roof plane. It can be zero or negative."""

    description = "a position on the roof plane"
    example = "41 in"
    format = "position"
    least = "-3000 ft"
    most = "3000 ft"


class ModuleSide(Nm):
    """One side of a module."""

    description = "a side of a module"
    example = "66 in"
    format = "module-side"
    least = "4 in"
    most = "20 ft"


class Gap(Nm):
    """A gap between modules, or how far something sticks out. It can be zero."""

    description = "a gap"
    example = "1/2 in"
    format = "gap"
    least = "0 in"
    most = "10 ft"


class Exact(Fraction):
    """A quantity other than a length, parsed from text. Subclasses set the limits of one field."""

    description: ClassVar[str]
    example: ClassVar[str]
    format: ClassVar[str]
    dimension: ClassVar[str]
    least: ClassVar[str]
    most: ClassVar[str]
    unit: ClassVar[str]

    def written(self) -> str:
        """Return text that gives exactly this quantity."""
        number, rest = divmod(self * 100 if self.dimension == "share" else self, 1)
        return f"{number} {rest} {self.unit}" if rest else f"{number} {self.unit}"

    @classmethod
    def read(cls, text: str) -> Self:
        """Return the quantity that a string gives. Raises QuantityError."""
        least, found, most = (
            parse(one, cls.dimension, cls.example) for one in (cls.least, text, cls.most)
        )
        if not least <= found <= most:
            raise QuantityError(
                f'"{text}" is out of range for {cls.description}.'
                f" Expected {cls.least} to {cls.most}."
            )
        return cls(found / 100 if cls.dimension == "share" else found)


class Percentage(Exact):
    """A share, written as a percentage."""

    description = "a percentage"
    example = "22 %"
    format = "share"
    dimension = "share"
    unit = "%"
    least = "0 %"
    most = "50 %"


class WorkingDay(Exact):
    """The time that one person works on site in a day [min]."""

    description = "a working day"
    example = "8 h"
    format = "working-day"
    dimension = "time"
    unit = "min"
    least = "1 h"
    most = "24 h"


def decode(kind: type, value: Any) -> Any:  # noqa: ANN401 - msgspec's hook takes and gives anything
    """Return `value` as the quantity `kind`: msgspec's hook for types that it does not know.

    Raises QuantityError when the value is not a string, or the string is not such a quantity.
    """
    if isinstance(value, str):
        return _read(kind, value)
    if not issubclass(kind, (Nm, Exact)):  # pragma: no cover - a bug in a type
        raise NotImplementedError(kind)
    raise QuantityError(
        f"Expected {kind.description} with a unit, such as {kind.example}; got {shown(value)}."
    )


@lru_cache(maxsize=4096)
def _read(kind: type[Nm | Exact], text: str) -> Nm | Exact:
    """Return the quantity in a string. Jobs repeat the same few lengths."""
    return kind.read(text)


def shown(value: object) -> str:
    """Return a JSON or YAML value in short form, for a message."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"the number {value}" if len(str(value)) < 30 else "a very long number"
    if isinstance(value, str):
        return f'"{value[:40]}"'
    return "a list" if isinstance(value, (list, tuple)) else "an object"
