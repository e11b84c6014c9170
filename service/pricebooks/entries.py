"""Build the entries of a price book; what is wrong with one is noted, and the others go on."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from msgspec import UnsetType

from service.errors import Fault
from service.pricebooks.money import amount
from service.pricebooks.pricebook import Break, Fee, MarkUp, MarkUps, PackPrice, Tax
from service.pricebooks.schema import (
    FeeEntry,
    Marked,
    MarkUpEntries,
    PriceEntry,
    TaxEntry,
)
from service.quantity.kinds import shown
from service.quantity.parse import QuantityError, length_nm
from service.rulesets.build.measure import share

T = TypeVar("T")
Path = tuple[str | int, ...]
MOST_COUNTED = 1_000_000
_COUNT = re.compile("[1-9][0-9]{0,6}", re.ASCII)
_LEAST_NM, _MOST_NM = length_nm("1 in"), length_nm("20000 ft")


class Notes:
    """Faults found while a book is built; `places` are the decimals of its currency."""

    def __init__(self, places: int) -> None:
        self.places = places
        self.found: list[Fault] = []

    def take(self, path: Path, read: Callable[[], T]) -> T | None:
        """Return what `read` gives, or None with a fault noted at `path`."""
        try:
            return read()
        except QuantityError as error:
            self.found.append(Fault(path=path, problem=str(error)))
            return None

    def amount(self, raw: object, path: Path) -> Decimal:
        """Return an amount, or zero with a fault noted."""
        return self.take(path, lambda: amount(raw, self.places)) or Decimal(0)

    def share(self, raw: object, most: Fraction, path: Path) -> Fraction:
        """Return a share of at most `most`, or zero with a fault noted."""
        return self.take(path, lambda: _share(raw, most)) or Fraction(0)


def build_prices(entries: Mapping[str, PriceEntry], notes: Notes) -> tuple[PackPrice, ...]:
    """Return the prices in their order, each pack of an item priced once."""
    prices = []
    known: dict[tuple[str, int | None, int], str] = {}
    for name, entry in entries.items():
        path: Path = ("prices", name)
        before = len(notes.found)
        price = _price(name, entry, path, notes)
        offer = (price.item, price.width_nm, price.holds)
        first = known.setdefault(offer, name)
        if first != name and len(notes.found) == before:
            problem = f"This pack of {entry.item} is priced in {first} as well."
            notes.found.append(Fault(path=path, problem=problem, remedy="Keep one of the two."))
        prices.append(price)
    return tuple(prices)


def build_fees(entries: Mapping[str, FeeEntry], notes: Notes) -> tuple[Fee, ...]:
    """Return the fees in their order."""
    return tuple(
        Fee(
            id=name,
            means=entry.means,
            amount=notes.amount(entry.amount, ("fees", name, "amount")),
            rule=f"fees.{name}",
        )
        for name, entry in entries.items()
    )


def build_mark_ups(entries: MarkUpEntries, notes: Notes) -> MarkUps:
    """Return what is put on each cost."""

    def one(name: Marked) -> MarkUp | None:
        entry = entries.get(name)
        if entry is None:
            return None
        most = Fraction(99, 100) if entry.kind == "margin" else Fraction(10)
        part = notes.share(entry.share, most, ("mark_up", name, "share"))
        return MarkUp(kind=entry.kind, share=part, rule=f"mark_up.{name}")

    return MarkUps(materials=one("materials"), labour=one("labour"))


def build_taxes(entries: Mapping[str, TaxEntry], notes: Notes) -> tuple[Tax, ...]:
    """Return the taxes in their order."""
    taxes = []
    for name, entry in entries.items():
        path: Path = ("tax", name)
        if len(set(entry.on)) < len(entry.on):
            problem = "A part of the price stands here twice."
            fault = Fault(path=(*path, "on"), problem=problem, remedy="Name each once.")
            notes.found.append(fault)
        part = notes.share(entry.share, Fraction(1), (*path, "share"))
        rule = f"tax.{name}"
        taxes.append(Tax(id=name, means=entry.means, share=part, on=tuple(entry.on), rule=rule))
    return tuple(taxes)


def _price(name: str, entry: PriceEntry, path: Path, notes: Notes) -> PackPrice:
    measured = isinstance(entry.pack, str)
    width_nm = None
    if not isinstance(entry.width, UnsetType):
        width_nm = _width(entry.width, measured, (*path, "width"), notes)
    first = Break(1, notes.amount(entry.price, (*path, "price")))
    return PackPrice(
        id=name,
        item=entry.item,
        width_nm=width_nm,
        holds=notes.take((*path, "pack"), lambda: _pack(entry.pack)) or 1,
        breaks=(first, *_breaks(entry.breaks, first.price, (*path, "breaks"), notes)),
        rule=f"prices.{name}",
    )


def _width(raw: object, measured: bool, path: Path, notes: Notes) -> int | None:
    if not measured:
        problem = "Only what is sold by length has a width here."
        remedy = "Leave it out, or write a length as the pack, such as 100 ft."
        notes.found.append(Fault(path=path, problem=problem, remedy=remedy))
    return notes.take(path, lambda: _length(raw, "8 in"))


def _pack(raw: object) -> int:
    """Return what a pack holds: nm where a length is written, else a count."""
    if isinstance(raw, str):
        return _length(raw, "100 ft")
    if isinstance(raw, bool) or not isinstance(raw, int) or not 1 <= raw <= MOST_COUNTED:
        raise QuantityError(
            f"Found {shown(raw)}. Write a whole number from 1 to {MOST_COUNTED},"
            " or a length such as 100 ft."
        )
    return raw


def _length(raw: object, example: str) -> int:
    if not isinstance(raw, str):
        raise QuantityError(f"Found {shown(raw)}. Write a number and a unit, such as {example}.")
    nm = length_nm(raw, example)
    if not _LEAST_NM <= nm <= _MOST_NM:
        raise QuantityError(f"{shown(raw)} makes no sense here. Write a length such as {example}.")
    return nm


def _breaks(
    entries: Mapping[str, object], single: Decimal, path: Path, notes: Notes
) -> list[Break]:
    """Return the prices from so many packs on; a pack costs no more where more are bought."""
    breaks: list[Break] = []
    for written, raw in entries.items():
        here = (*path, written)
        price = notes.amount(raw, here)
        if not _COUNT.fullmatch(written) or not 2 <= int(written) <= MOST_COUNTED:
            problem = f"{shown(written)} is no count of packs."
            remedy = f"Write a whole number from 2 to {MOST_COUNTED} in quotes."
            notes.found.append(Fault(path=here, problem=problem, remedy=remedy))
            continue
        count = int(written)
        if breaks and count <= breaks[-1].from_packs:
            problem = f"{count} packs stand below {breaks[-1].from_packs}."
            fault = Fault(path=here, problem=problem, remedy="Write the counts so that they rise.")
            notes.found.append(fault)
        elif price > (before := breaks[-1].price if breaks else single):
            problem = f"A pack costs {price} here, and {before} where fewer are bought."
            remedy = "Write prices that fall, or leave the break out."
            notes.found.append(Fault(path=here, problem=problem, remedy=remedy))
        breaks.append(Break(count, price))
    return breaks


def _share(raw: object, most: Fraction) -> Fraction:
    part = share(raw)
    if part > most:
        raise QuantityError(
            f"{shown(raw)} is too much here. Write at most {float(most * 100):g} %."
        )
    return part
