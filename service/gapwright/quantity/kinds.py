"""The kinds of quantity that a request may hold: what they measure and between which bounds.

The bounds here are bounds of sense (no roof has a clearance of 40 ft), not thresholds of the
trade: those live in the rule files.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar, Self

from gapwright.quantity.parse import QuantityError, length_nm, parse
from gapwright.quantity.show import NM_PER_M, long, short


class Nm(int):
    """A length in whole nanometres, read from text. Subclasses set the bounds of one field.

    A length may be zero only where `least` is, and negative only where `least` is negative.
    """

    description: ClassVar[str] = "a length"
    example: ClassVar[str] = "4 1/2 in"
    format: ClassVar[str] = "length"
    least: ClassVar[str] = "1/64 in"
    most: ClassVar[str] = "40 ft"

    @classmethod
    def read(cls, text: str) -> Nm:
        """Return the length that a text states. Raises QuantityError."""
        plain = text.strip()
        signed = cls.least.startswith("-") and plain.startswith(("-", "−"))
        size = length_nm(plain[1:].strip() if signed else plain, cls.example)
        if size == 0 and _signed_nm(cls.least) > 0:
            raise QuantityError(f'"{text}" is zero. {cls.limits()}')
        nm = -size if signed else size
        if not _signed_nm(cls.least) <= nm <= length_nm(cls.most):
            raise QuantityError(f"'{text}' cannot be {cls.description}. {cls.limits()}")
        return cls(nm)

    @classmethod
    def limits(cls) -> str:
        """Return the bounds as a sentence, in feet and inches and in metres or millimetres."""
        least, most = length_nm(cls.least.removeprefix("-")), length_nm(cls.most)
        show = long if most > 10 * NM_PER_M else short
        sign = "-" if cls.least.startswith("-") else ""
        metric = f"{sign}{show(least, 'metric', 'up').text} to {show(most, 'metric', 'down').text}"
        return f"Write a length from {cls.least} to {cls.most} ({metric}), such as {cls.example}."


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
    """A length round an array, or round all arrays of a job."""

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
    """A coordinate on the roof plane; it may be zero or negative."""

    description = "a place on the roof plane"
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
    """A gap between modules, or how far something sticks out; it may be zero."""

    description = "a gap"
    example = "1/2 in"
    format = "gap"
    least = "0 in"
    most = "10 ft"


class Exact(Fraction):
    """A quantity other than a length, read from text; subclasses set the bounds of one field."""

    description: ClassVar[str]
    example: ClassVar[str]
    format: ClassVar[str]
    dimension: ClassVar[str]
    least: ClassVar[str]
    most: ClassVar[str]

    @classmethod
    def read(cls, text: str) -> Self:
        """Return the quantity that a text states. Raises QuantityError."""
        least, found, most = (
            parse(one, cls.dimension, cls.example) for one in (cls.least, text, cls.most)
        )
        if not least <= found <= most:
            raise QuantityError(
                f"'{text}' cannot be {cls.description}. Write from {cls.least} to {cls.most}."
            )
        return cls(found / 100 if cls.dimension == "share" else found)


class Share(Exact):
    """A part of the whole, written with a percent sign."""

    description = "a part of the whole"
    example = "22 %"
    format = "share"
    dimension = "share"
    least = "0 %"
    most = "50 %"


class WorkingDay(Exact):
    """The time that one person works on site in a day [min]."""

    description = "a working day"
    example = "8 h"
    format = "working-day"
    dimension = "time"
    least = "1 h"
    most = "24 h"


def decode(kind: type, value: Any) -> Any:  # noqa: ANN401 - msgspec's hook takes and gives anything
    """Return `value` as the quantity `kind`: msgspec's hook for types that it does not know.

    Raises QuantityError when the value is not text or the text is not such a quantity.
    """
    if isinstance(value, str):
        return _read(kind, value)
    if not issubclass(kind, (Nm, Exact)):  # pragma: no cover - a bug in a form
        raise NotImplementedError(kind)
    raise QuantityError(
        f"Found {shown(value)} where {kind.description} must stand. "
        f"Write text with a unit, such as {kind.example}."
    )


@lru_cache(maxsize=4096)
def _read(kind: type[Nm | Exact], text: str) -> Nm | Exact:
    """Return what a text states; jobs state the same few lengths again and again."""
    return kind.read(text)


def shown(value: object) -> str:
    """Return a short name for a value of JSON or YAML, for use in a message."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"the bare number {value}" if len(str(value)) < 30 else "a very long number"
    if isinstance(value, str):
        return f'the text "{value[:40]}"'
    return "a list" if isinstance(value, (list, tuple)) else "an object"
