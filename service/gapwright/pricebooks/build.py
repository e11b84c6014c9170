"""Build a price book from its plain data, with every fault reported."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec
from msgspec import UnsetType

from gapwright.errors import Fault, InvalidRequestError
from gapwright.pricebooks.money import USUAL_PLACES, amount, places_of
from gapwright.pricebooks.pricebook import Break, Fee, Markup, Markups, PackPrice, PriceBook, Tax
from gapwright.pricebooks.schema import Marked, PriceEntry, PriceFile, PriceOverlay, SentBook
from gapwright.quantity.kinds import shown
from gapwright.quantity.parse import QuantityError
from gapwright.rulesets.kind import HEAD, Kind, check_sources
from gapwright.rulesets.measure import Faults, Measure, Path
from gapwright.rulesets.overlay import Content, Shape, removal_faults
from gapwright.rulesets.resolve import Resolved
from gapwright.rulesets.vocabulary import PACKS
from gapwright.strict import faults as shape_faults

SENT = "inline"
"""The id of a price book in a request."""

_COUNT = re.compile("[1-9][0-9]{0,6}", re.ASCII)
_MOST_PACKS = 1_000_000
_WIDTH = Measure("length", "1 in", "20000 ft")
_MARK_UP = {
    "markup": Measure("share", "0 %", "1000 %"),
    "margin": Measure("share", "0 %", "99 %"),
}
_TAX = Measure("share", "0 %", "100 %")

_CITED = ("prices", "fees", "tax")
_MEMBERS = frozenset({*_CITED, "currency", "rounding", "labor", "markup", "minimum_charge"})


def is_price_book(tree: Mapping[str, Any]) -> bool:
    """Return whether a file's content is that of a price book, not of a rule set."""
    return not _MEMBERS.isdisjoint(tree)


def build(resolved: Resolved) -> PriceBook:
    """Return the price book that a resolved file states.

    Raises RuleFileError with every fault, each with its file, line and column.
    """
    faults = Faults(resolved.documents[-1].faults)
    file: PriceFile = PRICE_BOOKS.read(resolved.content, faults)
    if file.id == SENT:
        problem = "This id is reserved for price books in requests."
        faults.add(("id",), problem, "Give it another id.")
    for path, entry in _entries(file):
        for member in ("description", "source") if len(path) == 2 else ("source",):
            if isinstance(getattr(entry, member), UnsetType):
                faults.add((*path, member), "This required field is missing.", "Expected text.")
    check_sources(resolved.content, _cited(file), faults)
    head = {"effective": file.effective, "status": file.status, "title": file.title}
    book = _build(file, {"id": file.id, "version": file.version, **head}, resolved, faults)
    resolved.refuse(faults)
    return _sealed(book)


def inline(data: Mapping[str, Any]) -> PriceBook:
    """Return the price book that a request states as plain JSON data.

    Raises InvalidRequestError with every fault, its path inside the data.
    """
    faults = Faults(shape_faults(data, SentBook))
    if not isinstance(data, dict):
        raise InvalidRequestError(faults)
    file: SentBook = PRICE_BOOKS.read_sound(data, faults, SentBook)
    check_sources({"sources": {}, **data}, _cited(file), faults)
    head = {"effective": None, "status": "sent", "title": "Prices sent with the request"}
    resolved = Resolved(content=data, documents=())
    book = _build(file, {"id": SENT, "version": "0.0.0", **head}, resolved, faults)
    if faults:
        raise InvalidRequestError(faults)
    return _sealed(book)


def _build(
    file: SentBook, head: Mapping[str, Any], resolved: Resolved, faults: Faults
) -> PriceBook:
    """Return the book; with faults found it is of no use. Its digest is empty."""
    places = faults.read(("currency",), places_of, file.currency, USUAL_PLACES)

    def money(raw: object, *path: str) -> Decimal:
        return faults.read(path, partial(amount, places=places), raw, Decimal(0))

    def share(measure: Measure, raw: object, *path: str) -> Fraction:
        return faults.read(path, measure.read, raw, Fraction(0))

    def markup(on: Marked) -> Markup | None:
        entry = file.markup.get(on)
        if entry is None:
            return None
        part = share(_MARK_UP[entry.kind], entry.share, "markup", on, "share")
        return Markup(kind=entry.kind, share=part, rule=f"markup.{on}")

    prices = _prices(file.prices, money, faults)
    hourly_rate = (
        None
        if isinstance(file.labor, UnsetType)
        else money(file.labor.hourly_rate, "labor", "hourly_rate")
    )
    least = file.minimum_charge
    for name, entry in file.tax.items():
        if len(set(entry.on)) < len(entry.on):
            problem = "The list has duplicates."
            faults.add(("tax", name, "on"), problem, "List each part of the price once.")
    return PriceBook(
        **head,
        digest="",
        currency=file.currency,
        places=places,
        rounding=file.rounding,
        prices=prices,
        hourly_rate=hourly_rate,
        fees=tuple(
            Fee(
                id=name,
                description=entry.description,
                amount=money(entry.amount, "fees", name, "amount"),
                rule=f"fees.{name}",
            )
            for name, entry in file.fees.items()
        ),
        mark_ups=Markups(materials=markup("materials"), labor=markup("labor")),
        minimum=None if isinstance(least, UnsetType) else money(least, "minimum_charge"),
        taxes=tuple(
            Tax(
                id=name,
                description=entry.description,
                share=share(_TAX, entry.share, "tax", name, "share"),
                on=tuple(entry.on),
                rule=f"tax.{name}",
            )
            for name, entry in file.tax.items()
        ),
        offers={(price.item, price.width_nm, price.pack_size): price for price in prices},
        resolved=resolved,
    )


def _sealed(book: PriceBook) -> PriceBook:
    return msgspec.structs.replace(book, digest=PRICE_BOOKS.digest(book.content))


def _entries(file: SentBook) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Yield the place of each entry that has a source, and the entry."""
    for section in _CITED:
        yield from (((section, name), entry) for name, entry in getattr(file, section).items())
    if not isinstance(file.labor, UnsetType):
        yield ("labor",), file.labor


def _cited(file: SentBook) -> Iterator[tuple[Path, str]]:
    return ((p, e.source) for p, e in _entries(file) if not isinstance(e.source, UnsetType))


def _prices(
    entries: Mapping[str, PriceEntry], money: Callable[..., Decimal], faults: Faults
) -> tuple[PackPrice, ...]:
    """Return the prices in their order, each pack of an item priced once."""
    prices = []
    known: dict[tuple[str, int | None, int], str] = {}
    for name, entry in entries.items():
        before = len(faults)
        price = _price(name, entry, money, faults)
        first = known.setdefault((price.item, price.width_nm, price.pack_size), name)
        if first != name and len(faults) == before:
            problem = f"Duplicate price for this pack of {entry.item}; it is also in {first}."
            faults.add(("prices", name), problem, "Keep one of the two.")
        prices.append(price)
    return tuple(prices)


def _price(
    name: str, entry: PriceEntry, money: Callable[..., Decimal], faults: Faults
) -> PackPrice:
    path = ("prices", name)
    width_nm = None
    if not isinstance(entry.width, UnsetType):
        if not isinstance(entry.pack, str):
            problem = "Only an item sold by length has a width."
            remedy = "Remove it, or write a length as the pack, such as 100 ft."
            faults.add((*path, "width"), problem, remedy)
        width_nm = faults.read((*path, "width"), _WIDTH.read, entry.width, None)
    breaks = [Break(1, money(entry.price, *path, "price"))]
    for written, raw in entry.breaks.items():
        step = _break(written, money(raw, *path, "breaks", written), breaks[-1], faults, path)
        if step is not None:
            breaks.append(step)
    return PackPrice(
        id=name,
        item=entry.item,
        width_nm=width_nm,
        pack_size=faults.read((*path, "pack"), _pack, entry.pack, 1),
        breaks=tuple(breaks),
        rule=f"prices.{name}",
    )


def _pack(raw: object) -> int:
    """Return the pack size: nm for a length, otherwise a count."""
    if isinstance(raw, str):
        return int(PACKS["length"].read(raw))
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise QuantityError(
            f"Expected a whole number, or a length such as 100 ft; got {shown(raw)}."
        )
    return int(PACKS["count"].read(raw))


def _break(
    written: str, price: Decimal, before: Break, faults: Faults, path: tuple[str, ...]
) -> Break | None:
    """Return a volume price. A pack costs no more if more are bought."""
    here = (*path, "breaks", written)
    if not _COUNT.fullmatch(written) or not 2 <= int(written) <= _MOST_PACKS:
        remedy = f"Expected a whole number from 2 to {_MOST_PACKS}, in quotes."
        faults.add(here, f"{shown(written)} is not a number of packs.", remedy)
        return None
    count = int(written)
    if before.from_packs > 1 and count <= before.from_packs:
        problem = f"{count} packs come after {before.from_packs}."
        faults.add(here, problem, "List the breaks in increasing order.")
    elif price > before.price:
        problem = f"A pack costs {price} here, but {before.price} if fewer are bought."
        faults.add(here, problem, "Lower the price, or remove the break.")
    return Break(count, price)


def change_faults(base: Content, change: Content) -> list[Fault]:
    """Return every fault of a change against its base."""
    found = removal_faults(base, change)
    currency = base.get("currency")
    if change.get("currency", currency) != currency:
        problem = f"The currency of the base is {currency}. An overlay cannot change it."
        remedy = "Remove it, or write a complete price book."
        found.add(("currency",), problem, remedy)
    return found


PRICE_BOOKS: Kind[PriceBook] = Kind(
    noun="price book",
    whole=PriceFile,
    change=PriceOverlay,
    shape=Shape(
        sections=("sources", "prices", "fees", "markup", "tax"),
        scalars=("currency", "rounding", "labor", "minimum_charge"),
        ordered=("fees", "tax"),
    ),
    fillers={**HEAD, "sources": {}, "currency": "USD", "rounding": "half_up", "prices": {}},
    change_faults=change_faults,
    build=build,
)
"""Files of price books."""

digest = PRICE_BOOKS.digest
