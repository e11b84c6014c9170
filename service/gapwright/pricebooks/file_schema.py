"""The JSON Schema of price book files, from which editors complete and check."""

from __future__ import annotations

from typing import Any

import msgspec

from gapwright.docstrings import describe_members
from gapwright.pricebooks.schema import (
    FeeEntry,
    LaborEntry,
    MarkupEntry,
    PriceEntry,
    PriceFile,
    PriceOverlay,
    TaxEntry,
)
from gapwright.rulesets.file_schema import REF, versioned
from gapwright.rulesets.schema import SourceEntry

_BOOKS = ("SentBook", "PriceFile", "PriceOverlay")
_SAID = {
    "PriceEntry": ("description", "source"),
    "LaborEntry": ("source",),
    "FeeEntry": ("source",),
    "TaxEntry": ("source",),
}
"""What a file must say of each entry, and a book that comes with a request need not."""


def file_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a price book: a whole one, or one based on another."""
    _, defs = msgspec.json.schema_components([PriceFile, PriceOverlay], ref_template=REF)
    write_out(defs)
    for kind in (PriceFile, PriceEntry, LaborEntry, FeeEntry, MarkupEntry, TaxEntry, SourceEntry):
        describe_members(defs[kind.__name__], kind)
    for name, members in _SAID.items():
        defs[name]["required"] = [*defs[name]["required"], *members]
    return versioned("price book", "price book", ("PriceFile", "PriceOverlay"), defs)


def write_out(schemas: dict[str, Any], reference: str = REF) -> None:
    """Put into the schemas of books what can be marked up.

    `reference` is how one schema refers to another by `{name}`.
    """
    marked = {"$ref": reference.format(name="MarkupEntry")}
    for name in _BOOKS:
        if name in schemas:
            schemas[name]["properties"]["markup"] = {
                "type": "object",
                "properties": {"materials": marked, "labor": marked},
                "additionalProperties": False,
            }
