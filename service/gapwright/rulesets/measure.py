"""Read a scalar of a rule file as the kind of quantity that the calculation takes it for.

Each quantity has a least and a most. They are bounds of sense, wide enough for any company, and
there so that no file can make a calculation run away; what a base allows is narrower.
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
    "length": "Write a length, such as 6 in.",
    "lengths": "Write a list of lengths, such as [6 in, 8 in].",
    "share": "Write a part of the whole, such as 20 %.",
    "angle": "Write a turn, such as 70 deg.",
    "count": "Write a whole number, such as 4.",
    "flag": "Write true or false, without quotes.",
    "time": "Write a time, such as 12 min.",
    "density": "Write a density, such as 490 lb/ft³.",
}
"""What to write for each kind of quantity."""

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
    """A kind of quantity and its bounds: both are included and given, or none.

    Each length of a list is within them.
    """

    kind: QuantityKind
    least: Bound = None
    most: Bound = None

    def read(self, raw: object) -> Any:  # noqa: ANN401 - the kind decides
        """Return what a scalar states: nm, Fraction, degrees, count, flag, min or g/m³.

        Raises QuantityError that says what is wrong and what to write.
        """
        value = measure(self.kind, raw)
        if self.least is None:
            return value
        least, most = bound(self.kind, self.least), bound(self.kind, self.most)
        if not all(
            least <= one <= most for one in (value if isinstance(value, tuple) else (value,))
        ):
            remedy = f"Write from {self.least} to {self.most}."
            raise QuantityError(f"{str(raw)[:40]} is out of bounds. {remedy}")
        return value


class Faults(list[Fault]):
    """What is wrong with a file, collected while it is built."""

    def add(self, path: Path, problem: str, remedy: str = "") -> None:
        """Add a fault."""
        self.append(Fault(path=path, problem=problem, remedy=remedy))

    def add_unknown(self, path: Path, problem: str, name: object, known: Collection[str]) -> None:
        """Add a fault with the nearest known name as its remedy, which takes long to find.

        Faults beyond those that are reported have none.
        """
        self.add(path, problem, unknown_name(name, known) if len(self) < MAX_PROBLEMS else "")

    def read(self, path: Path, reader: Callable[[Any], T], raw: object, default: T) -> T:
        """Return what `reader` makes of `raw`; the default, and a fault, on a QuantityError."""
        try:
            return reader(raw)
        except QuantityError as error:
            self.add(path, str(error))
            return default


def measure(kind: str, raw: object) -> Any:  # noqa: ANN401 - the kind decides
    """Return a scalar as one of the kinds of quantity, whatever its bounds.

    Kinds: `length` and `lengths` [nm], `share`, `angle` [deg], `count`, `flag`, `time` [min] and
    `density` [g/m³]. Raises QuantityError.
    """
    if kind == "lengths":
        return _lengths(raw)
    if kind == "flag":
        if not isinstance(raw, bool):
            raise QuantityError(f"Found {shown(raw)}. {WANTED['flag']}")
        return raw
    if kind == "count":
        if isinstance(raw, bool) or not isinstance(raw, int) or raw < 0:
            raise QuantityError(f"Found {shown(raw)}. {WANTED['count']}")
        return raw
    example = EXAMPLES[kind][0]
    if not isinstance(raw, str):
        raise QuantityError(f"Found {shown(raw)}. Write a number and a unit, such as {example}.")
    found = parse(raw, kind, example)
    if kind == "length":
        return round(found)
    if kind == "share":
        return found / 100
    return float(found) if kind == "angle" else found


def bound(kind: str, raw: object) -> Any:  # noqa: ANN401 - the kind decides
    """Return an end of a quantity's range; that of a list of lengths is one length."""
    return measure("length" if kind == "lengths" else kind, raw)


def _lengths(raw: object) -> tuple[int, ...]:
    if not isinstance(raw, list) or not raw:
        raise QuantityError(f"Found {shown(raw)}. {WANTED['lengths']}")
    if len(raw) > _MOST_LISTED:
        raise QuantityError(f"The list has {len(raw)} lengths. Write at most {_MOST_LISTED}.")
    found = tuple(measure("length", item) for item in raw)
    if sorted(set(found)) != list(found):
        raise QuantityError("The lengths do not rise. Write each once, the smallest first.")
    return found
