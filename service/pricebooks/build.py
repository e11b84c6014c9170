"""Build a price book from its plain data: every entry checked, every fault told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Literal

import msgspec
from msgspec import UnsetType

from service.errors import BadInputError, Fault
from service.pricebooks.entries import (
    Notes,
    build_fees,
    build_mark_ups,
    build_prices,
    build_taxes,
)
from service.pricebooks.money import USUAL_PLACES, places_of
from service.pricebooks.pricebook import PriceBook
from service.pricebooks.schema import PriceFile, SentBook
from service.quantity.parse import QuantityError
from service.rulesets.build.parts import check_source, without
from service.rulesets.resolve import Resolved
from service.rulesets.seal import seal
from service.strict import convert, faults

SENT = "inline"
"""The id of a price book that a request brings along."""

_FILLERS: dict[str, Any] = {"currency": "USD", "rounding": "half_up", "prices": {}}
_HEAD_FILLERS: dict[str, Any] = {
    **dict.fromkeys(("title", "change", "approved_by"), "-"),
    "id": "x",
    "version": "0.0.0",
    "effective": "2000-01-01",
    "status": "draft",
    "sources": {},
}
"""What stands in for members that are at fault while the rest is judged."""

_ORDERED = ("fees", "tax")
"""Sections whose order is the order of an answer."""

_Head = tuple[str, str, date | None, Literal["draft", "published", "withdrawn", "sent"], str]
"""Id, version, effective, status and title."""

_CITED = ("prices", "fees", "tax")
_MEMBERS = frozenset({*_CITED, "currency", "rounding", "labour", "mark_up", "minimum_charge"})


def is_price_book(tree: Mapping[str, Any]) -> bool:
    """Return whether a file's content is that of a price book, not of a rule set."""
    return not _MEMBERS.isdisjoint(tree)


def build(resolved: Resolved) -> PriceBook:
    """Return the price book that a resolved file states.

    Raises RuleFileError with every fault, each with its file, line and column.
    """
    content = resolved.content
    found = [*resolved.documents[-1].faults, *faults(content, PriceFile, most=None)]
    fillers = {**_FILLERS, **_HEAD_FILLERS}
    file = convert({**fillers, **without(content, _whole(found))}, PriceFile)
    if file.id == SENT:
        problem = "Books that come with a request are called so."
        found.append(Fault(path=("id",), problem=problem, remedy="Give it another id."))
    found += _missing(file)
    _check_sources(file, content.get("sources"), found)
    head: _Head = (file.id, file.version, file.effective, file.status, file.title)
    book = _build(file, head, resolved, found)
    resolved.refuse(found)
    return book


def inline(data: Mapping[str, Any]) -> PriceBook:
    """Return the price book that a request states as plain JSON data.

    Raises BadInputError with every fault, its path inside the data.
    """
    found = faults(data, SentBook)
    if not isinstance(data, dict):
        raise BadInputError(found)
    file = convert({**_FILLERS, **without(data, _whole(found))}, SentBook)
    _check_sources(file, data.get("sources", {}), found)
    head: _Head = (SENT, "0.0.0", None, "sent", "Prices sent with the request")
    book = _build(file, head, Resolved(content=data, documents=()), found)
    if found:
        raise BadInputError(found)
    return book


def digest(content: Mapping[str, Any]) -> str:
    """Return the digest of a price book's content; the order of fees and taxes belongs to it."""
    sections = {name: content.get(name) for name in _ORDERED}
    return seal(content, {name: list(s) for name, s in sections.items() if isinstance(s, dict)})


def _build(
    file: SentBook,
    head: _Head,
    resolved: Resolved,
    found: list[Fault],
) -> PriceBook:
    """Return the book; with faults found it is of no use, and its digest is empty."""
    notes = Notes(_places(file.currency, found))
    prices = build_prices(file.prices, notes)
    hour = file.labour if isinstance(file.labour, UnsetType) else file.labour.hour
    least = file.minimum_charge
    identifier, version, effective, status, title = head
    unsealed = PriceBook(
        id=identifier,
        version=version,
        effective=effective,
        status=status,
        title=title,
        digest="",
        currency=file.currency,
        places=notes.places,
        rounding=file.rounding,
        prices=prices,
        hour=None if isinstance(hour, UnsetType) else notes.amount(hour, ("labour", "hour")),
        fees=build_fees(file.fees, notes),
        mark_ups=build_mark_ups(file.mark_up, notes),
        minimum=None if isinstance(least, UnsetType) else notes.amount(least, ("minimum_charge",)),
        taxes=build_taxes(file.tax, notes),
        offers={(price.item, price.width_nm, price.holds): price for price in prices},
        resolved=resolved,
    )
    found += notes.found
    return unsealed if found else msgspec.structs.replace(unsealed, digest=digest(resolved.content))


def _whole(found: list[Fault]) -> list[Fault]:
    """Return the faults with one of a part of `labour`, which has no entries, as one of it all."""
    labour = Fault(path=("labour",), problem="")
    return [labour if fault.path[:1] == ("labour",) else fault for fault in found]


def _places(currency: str, found: list[Fault]) -> int:
    try:
        return places_of(currency)
    except QuantityError as error:
        found.append(Fault(path=("currency",), problem=str(error)))
        return USUAL_PLACES


def _missing(file: PriceFile) -> list[Fault]:
    """Return a fault for each entry of a file that does not say what it means or who says so."""
    paths: list[tuple[str, ...]] = [
        (section, name, member)
        for section in _CITED
        for name, entry in getattr(file, section).items()
        for member in ("means", "source")
        if isinstance(getattr(entry, member), UnsetType)
    ]
    if not isinstance(file.labour, UnsetType) and isinstance(file.labour.source, UnsetType):
        paths.append(("labour", "source"))
    remedy = "Write text."
    return [Fault(path=path, problem="This is missing.", remedy=remedy) for path in paths]


def _check_sources(file: SentBook, written: object, found: list[Fault]) -> None:
    if not isinstance(written, Mapping):
        return  # told already
    known = list(written)
    cited: list[tuple[tuple[str, ...], object]] = [
        ((section, name), entry.source)
        for section in _CITED
        for name, entry in getattr(file, section).items()
    ]
    if not isinstance(file.labour, UnsetType):
        cited.append((("labour",), file.labour.source))
    for path, source in cited:
        if isinstance(source, str):
            check_source(known, source, (*path, "source"), found)
