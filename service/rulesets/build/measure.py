"""Read one scalar of a rule file as the kind of value that the calculation takes it for."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from service.errors import Fault
from service.quantity.kinds import shown
from service.quantity.parse import QuantityError, parse

Path = tuple[str | int, ...]

WANTED = {
    "length": "Write a length, such as 6 in.",
    "lengths": "Write a list of lengths, such as [6 in, 8 in].",
    "share": "Write a part of the whole, such as 20 %.",
    "angle": "Write a turn, such as 70 deg.",
    "count": "Write a whole number, such as 4.",
    "flag": "Write true or false, without quotes.",
    "time": "Write a time, such as 12 min.",
    "density": "Write a density, such as 490 lb/ft³.",
}
"""What to write for each kind of value."""

_EXAMPLES = {
    "length": "6 in",
    "share": "20 %",
    "angle": "70 deg",
    "time": "12 min",
    "density": "490 lb/ft³",
}


def measure(kind: str, raw: object) -> Any:  # noqa: ANN401 - the kind decides
    """Return a scalar as the kind of value that the calculation takes it for.

    Kinds: `length` and `lengths` [nm], `share`, `angle` [deg], `count`, `flag`, `time` [min] and
    `density` [g/m³].
    Raises QuantityError that says what is wrong and what to write.
    """
    return _READERS[kind](raw)


def bound(kind: str, raw: object) -> Any:  # noqa: ANN401 - the kind decides
    """Return an end of a value's allowed range; that of a list of lengths is one length."""
    return measure("length" if kind == "lengths" else kind, raw)


def length(raw: object) -> int:
    """Return a length [nm], zero allowed. Raises QuantityError."""
    return round(_quantity("length", raw))


def share(raw: object) -> Fraction:
    """Return a part of the whole, exactly; it is written with a percent sign."""
    return _quantity("share", raw) / 100


def time(raw: object) -> Fraction:
    """Return a time [min], exactly; zero is allowed. Raises QuantityError."""
    return _quantity("time", raw)


def _density(raw: object) -> Fraction:
    return _quantity("density", raw)


def count(raw: object) -> int:
    """Return a whole number that is not negative."""
    if isinstance(raw, bool) or not isinstance(raw, int) or raw < 0:
        raise QuantityError(f"Found {shown(raw)}. {WANTED['count']}")
    return raw


def portion(raw: object, kind: str, path: Path, found: list[Fault]) -> int:
    """Return how much of a driver takes one: nm of a length, or a count; 1 with a fault noted."""
    try:
        amount = length(raw) if kind == "length" else count(raw)
        if amount == 0:
            raise QuantityError("One per nothing makes no sense. Write more than zero.")
    except QuantityError as error:
        found.append(Fault(path=path, problem=str(error)))
        return 1
    return amount


def _quantity(dimension: str, raw: object) -> Fraction:
    example = _EXAMPLES[dimension]
    if not isinstance(raw, str):
        raise QuantityError(f"Found {shown(raw)}. Write a number and a unit, such as {example}.")
    return parse(raw, dimension, example)


def _angle(raw: object) -> float:
    degrees = _quantity("angle", raw)
    if not 0 < degrees <= 90:
        raise QuantityError(f"{shown(raw)} is not a turn between 0 deg and 90 deg.")
    return float(degrees)


def _flag(raw: object) -> bool:
    if not isinstance(raw, bool):
        raise QuantityError(f"Found {shown(raw)}. {WANTED['flag']}")
    return raw


def _lengths(raw: object) -> tuple[int, ...]:
    if not isinstance(raw, list) or not raw:
        raise QuantityError(f"Found {shown(raw)}. {WANTED['lengths']}")
    found = tuple(length(item) for item in raw)
    if sorted(set(found)) != list(found):
        raise QuantityError("The lengths do not rise. Write each once, the smallest first.")
    return found


_READERS: dict[str, Callable[[object], Any]] = {
    "length": length,
    "lengths": _lengths,
    "share": share,
    "angle": _angle,
    "count": count,
    "flag": _flag,
    "time": time,
    "density": _density,
}
