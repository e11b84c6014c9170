"""What differs between two price books, entry by entry."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from service.pricebooks.pricebook import PriceBook
from service.pricebooks.shelf import SCALARS, SECTIONS
from service.rulesets.resolve import at


class PriceChange(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs; `before` or `after` is null where it was added or removed."""

    entry: str
    before: Any
    after: Any
    source: str | None


def entries(book: PriceBook) -> list[tuple[str, ...]]:
    """Return the path of every entry of a price book."""
    content = book.content
    told = [(name,) for name in SCALARS if name in content]
    return [*told, *((part, name) for part in SECTIONS for name in content.get(part, {}))]


def price_changes(before: PriceBook, after: PriceBook) -> tuple[PriceChange, ...]:
    """Return every entry that differs, in the order of the sections."""
    paths = dict.fromkeys((*entries(before), *entries(after)))
    ordered = sorted(paths, key=lambda path: (*SCALARS, *SECTIONS).index(path[0]))
    found = []
    for path in ordered:
        old, new = at(before.content, path), at(after.content, path)
        if old != new:
            source = _source(new if new is not None else old, after, before)
            entry = ".".join(path)
            found.append(PriceChange(entry=entry, before=old, after=new, source=source))
    return tuple(found)


def _source(entry: object, *books: PriceBook) -> str | None:
    """Return the title of an entry's source."""
    source = entry.get("source") if isinstance(entry, Mapping) else None
    for book in books:
        found = book.content.get("sources", {}).get(source)
        if found:
            return str(found["title"])
    return None
