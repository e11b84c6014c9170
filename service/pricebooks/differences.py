"""What differs between two price books, entry by entry."""

from __future__ import annotations

from typing import Any

import msgspec

from service.pricebooks.build import PRICE_BOOKS
from service.pricebooks.pricebook import PriceBook
from service.rulesets.overlay import source_title


class PriceChange(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs; `before` or `after` is null where it was added or removed."""

    entry: str
    before: Any
    after: Any
    source: str | None


def entries(book: PriceBook) -> list[tuple[str, ...]]:
    """Return the path of every entry of a price book."""
    return list(PRICE_BOOKS.shape.entries(book.content))


def price_changes(before: PriceBook, after: PriceBook) -> tuple[PriceChange, ...]:
    """Return every entry that differs, in the order of the sections."""
    return tuple(
        PriceChange(
            entry=".".join(path),
            before=old,
            after=new,
            source=source_title(new if new is not None else old, after.content, before.content),
        )
        for path, old, new in PRICE_BOOKS.shape.differences(before.content, after.content)
    )
