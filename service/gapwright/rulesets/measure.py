"""Parse a scalar of a rule file as the kind of quantity that the calculation needs.

Each quantity has a minimum and a maximum. They are wide enough for any company, and keep a file
from making a calculation run away. The range that a base allows is narrower.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any, Literal, TypeVar

import msgspec

from gapwright.errors import Fault
from gapwright.quantity.kinds import shown
from gapwright.quantity.parse import QuantityError, parse
from gapwright.rulesets.reader import MAX_PROBLEMS
from gapwright.strict import unknown_name

T = TypeVar("T")
Path = tuple[str | int, ...]
QuantityKind = Literal["length", "lengths", "share", "angle", "count", "flag", "time", "density"]
Bound = str | int | None

WANTED: dict[str, str] = {
    "length": "a length with a unit, such as 6 in",
    "lengths": "a list of lengths, such as [6 in, 8 in]",
    "share": "a percentage, such as 20 %",
    "angle": "an angle, such as 70 deg",
    "count": "a whole number, such as 4",
    "flag": "true or false, without quotes",
    "time": "a time, such as 12 min",
    "density": "a density, such as 490 lb/ft³",
}
"""What each kind of quantity looks like, for messages."""

EXAMPLES = {
    "length": ["6 in", "4 1/2 in", "150 mm"],
    "share": ["20 %"],
    "angle": ["70 deg"],
    "time": ["12 min", "8 h"],
    "density": ["490 lb/ft³", "7850 kg/m³"],
}
"""How quantities are written."""
_MOST_LISTED = 100


class Measure(msgspec.Struct, frozen=True):
    """A kind of quantity and its inclusive limits: both are set, or neither.

    Each length of a list is within them.
    """

    kind: QuantityKind
    least: Bound = None
    most: Bound = None

    def read(self, raw: object) -> Any:  # noqa: ANN401 - the kind decides
        """Return the value of a scalar: nm, Fraction, degrees, count, flag, min, or g/m³.

        Raises QuantityError, which says what is wrong and what is expected.
        """
        value = measure(self.kind, raw)
        if self.least is None:
            return value
        least, most = bound(self.kind, self.least), bound(self.kind, self.most)
        if not all(
            least <= one <= most for one in (value if isinstance(value, tuple) else (value,))
        ):
            remedy = f"Expected a value from {self.least} to {self.most}."
            raise QuantityError(f"{str(raw)[:40]} is out of range. {remedy}")
        return value


class Faults(list[Fault]):
    """The faults of a file, collected while it is built."""

    def add(self, path: Path, problem: str, remedy: str = "") -> None:
        """Add a fault."""
        self.append(Fault(path=path, problem=problem, remedy=remedy))

    def add_unknown(self, path: Path, problem: str, name: object, known: Collection[str]) -> None:
        """Add a fault that suggests the nearest known name, which is slow to find.

        Faults past the number that are reported have no suggestion.
        """
        self.add(path, problem, unknown_name(name, known) if len(self) < MAX_PROBLEMS else "")

    def read(self, path: Path, reader: Callable[[Any], T], raw: object, default: T) -> T:
        """Return `reader(raw)`. On a QuantityError, add a fault and return the default."""
        try:
            return reader(raw)
        except QuantityError as error:
            self.add(path, str(error))
            return default


def measure(kind: str, raw: object) -> Any:  # noqa: ANN401 - the kind decides
    """Return a scalar as one of the kinds of quantity, without checking its limits.

    Kinds: `length` and `lengths` [nm], `share`, `angle` [deg], `count`, `flag`, `time` [min] and
    `density` [g/m³]. Raises QuantityError.
    """
    if kind == "lengths":
        return _lengths(raw)
    if kind == "flag":
        if not isinstance(raw, bool):
            raise QuantityError(f"Expected {WANTED['flag']}; got {shown(raw)}.")
        return raw
    if kind == "count":
        if isinstance(raw, bool) or not isinstance(raw, int) or raw < 0:
            raise QuantityError(f"Expected {WANTED['count']}; got {shown(raw)}.")
        return raw
    example = EXAMPLES[kind][0]
    if not isinstance(raw, str):
        raise QuantityError(f"Expected {WANTED[kind]}; got {shown(raw)}.")
    found = parse(raw, kind, example)
    if kind == "length":
        return round(found)
    if kind == "share":
        return found / 100
    return float(found) if kind == "angle" else found


def bound(kind: str, raw: object) -> Any:  # noqa: ANN401 - the kind decides
    """Return one end of a quantity's range; for a list of lengths, that is a length."""
    return measure("length" if kind == "lengths" else kind, raw)


def _lengths(raw: object) -> tuple[int, ...]:
    if not isinstance(raw, list) or not raw:
        raise QuantityError(f"Expected {WANTED['lengths']}; got {shown(raw)}.")
    if len(raw) > _MOST_LISTED:
        raise QuantityError(f"Expected at most {_MOST_LISTED} lengths; got {len(raw)}.")
    found = tuple(measure("length", item) for item in raw)
    if sorted(set(found)) != list(found):
        raise QuantityError("The lengths are not in order. List each once, smallest first.")
    return found
