"""Quantities in answers: exact inside, written in the units asked for when they are encoded.

A result contains these types, so that no calculation knows the units of its answer. The class of a
field says how its text is rounded: up or down, whichever is safe there. A text reads as a tape
does, in sixteenths of an inch or whole millimeters.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Any, ClassVar

import msgspec

from gapwright.quantity import show
from gapwright.quantity.show import System, decimal


class Quantity:
    """Anything in an answer whose form depends on the units asked for."""

    __slots__ = ("amount",)
    wire: ClassVar[Any] = None
    """The type that the quantity is written as."""

    def __init__(self, amount: Any) -> None:  # noqa: ANN401 - each kind says what it takes
        self.amount = amount

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.amount == other.amount

    def __hash__(self) -> int:
        return hash((type(self), self.amount))

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self.amount!r})"

    def encoded(self, system: System) -> Any:  # noqa: ANN401 - whatever JSON takes
        """Return the quantity as it is written in an answer."""
        raise NotImplementedError

    def text(self, system: System) -> str:
        """Return the quantity as a person reads it."""
        written = self.encoded(system)
        return written if isinstance(written, str) else str(written.text)


class Length(Quantity):
    """A length [nm]. Subclasses say in which units it is written and which way its text rounds."""

    __slots__ = ()
    wire: ClassVar[Any] = show.Length
    run: ClassVar[bool] = False
    up: ClassVar[bool] = False
    amount: int

    @property
    def nm(self) -> int:
        """Return the exact length [nm]."""
        return self.amount

    def encoded(self, system: System) -> show.Length:
        """Return value, unit and text."""
        written = show.long if self.run else show.short
        return written(self.amount, system, "up" if self.up else "down")


class SectionDown(Length):
    """A length of the channel's section, in inches or millimeters; the text rounds down."""

    __slots__ = ()


class SectionUp(Length):
    """A length of the channel's section, in inches or millimeters; the text rounds up."""

    __slots__ = ()
    up = True


class RunDown(Length):
    """A length along the array, in feet or meters; the text rounds down."""

    __slots__ = ()
    run = True


class RunUp(Length):
    """A length along the array, in feet or meters; the text rounds up."""

    __slots__ = ()
    run = up = True


class Amount(Quantity):
    """How much of an item: a length of mesh [nm] as a bare number of feet or meters, or a count."""

    __slots__ = ("measured",)
    wire = float
    length: ClassVar[type[Length]] = RunUp

    def __init__(self, amount: int, measured: bool) -> None:
        super().__init__(amount)
        self.measured = measured

    def encoded(self, system: System) -> float:
        """Return the number."""
        return self.length(self.amount).encoded(system).value if self.measured else self.amount

    def text(self, system: System) -> str:
        """Return the length as a tape reads, or the count."""
        return self.length(self.amount).text(system) if self.measured else str(self.amount)


class Remaining(Amount):
    """How much of an item is left over; the text of a length rounds down, as of any remnant."""

    __slots__ = ()
    length = RunDown


class Unit(Quantity):
    """The unit of an `Amount`: `amount` says whether the item is measured."""

    __slots__ = ()
    wire = show.ItemUnit

    def encoded(self, system: System) -> str:
        """Return the unit."""
        if not self.amount:
            return "each"
        return "ft" if system == "imperial" else "m"


class Weight(Quantity):
    """A weight [g]."""

    __slots__ = ()
    wire = show.Weight

    def encoded(self, system: System) -> show.Weight:
        """Return value, unit and text."""
        return show.weight(self.amount, system)


class Duration(Quantity):
    """A time [minutes], in hours; the text rounds up to whole minutes."""

    __slots__ = ()
    wire = show.Duration
    amount: Fraction

    def encoded(self, system: System) -> show.Duration:
        """Return value, unit and text."""
        del system
        return show.duration(self.amount)


class Money(Quantity):
    """An amount with the decimals of its currency, as text."""

    __slots__ = ()
    wire = show.Money
    amount: Decimal

    def encoded(self, system: System) -> str:
        """Return the amount as decimal text."""
        del system
        return f"{self.amount:f}"


class Text(Quantity):
    """A sentence with quantities in it: a template, and what fills its braces."""

    __slots__ = ("parts",)
    wire = str

    def __init__(self, template: str, *parts: Quantity) -> None:
        super().__init__(template)
        self.parts = parts

    def encoded(self, system: System) -> str:
        """Return the sentence."""
        if not self.parts:
            return str(self.amount)
        return str(self.amount).format(*(part.text(system) for part in self.parts))


def _encode(system: System, value: object) -> Any:  # noqa: ANN401 - msgspec's hook
    if isinstance(value, Quantity):
        return value.encoded(system)
    if isinstance(value, Fraction):
        return decimal(float(value))
    raise NotImplementedError(f"An answer cannot hold {type(value).__name__}.")


_HOOKS: dict[System, Callable[[object], Any]] = {
    "imperial": partial(_encode, "imperial"),
    "metric": partial(_encode, "metric"),
}
_ENCODERS = {
    system: msgspec.json.Encoder(enc_hook=hook, order="sorted") for system, hook in _HOOKS.items()
}


def encode(result: object, system: System) -> bytes:
    """Return a result as JSON in the units of `system`.

    It is canonical (RFC 8785): names are ASCII and sorted, and numbers have neither dot-zero nor
    exponent, so anyone can digest it as is.
    """
    return _ENCODERS[system].encode(result)


def plain(result: object, system: System) -> Any:  # noqa: ANN401 - plain data
    """Return a result as plain data in the units of `system`."""
    return msgspec.to_builtins(result, enc_hook=_HOOKS[system])


def wire_schema(kind: type[Quantity], ref_template: str) -> dict[str, Any]:
    """Return the JSON Schema of what a kind of quantity is written as."""
    (schema,), _ = msgspec.json.schema_components([kind.wire], ref_template=ref_template)
    return schema
