"""The JSON Schema of price book files, from which editors complete and check."""

from __future__ import annotations

from typing import Any

import msgspec

from service.pricebooks.money import NO_MONEY
from service.pricebooks.schema import PriceFile, PriceOverlay
from service.rulesets.file_schema import REF, versioned

AMOUNT = {
    "type": "string",
    "description": "An amount in the book's currency, as text.",
    "pattern": "^((0|[1-9][0-9]{0,8})([.][0-9]{1,3})?|1000000000([.]0{1,3})?)$(?!\n)",
    "examples": ["42.00"],
}
_LENGTH = "A length, from 1 in to 20000 ft."
_WIDTH = {"type": "string", "description": _LENGTH, "examples": ["8 in", "200 mm"]}
_MARK_UP = {
    "type": "string",
    "description": "A share, from 0 % to 1000 %; a margin is at most 99 %.",
    "examples": ["30 %"],
}
_TAX = {"type": "string", "description": "A share, from 0 % to 100 %.", "examples": ["8.25 %"]}
_COUNT = {"type": "integer", "minimum": 1, "maximum": 1_000_000}
_CURRENCY = {
    "type": "string",
    "pattern": "^[A-Z]{3}$(?!\n)",
    "description": "The code of ISO 4217.",
    "not": {"enum": sorted(NO_MONEY)},
    "examples": ["USD"],
}
_BOOKS = ("SentBook", "PriceFile", "PriceOverlay")
_BOOK: dict[str, Any] = {
    "currency": _CURRENCY,
    "minimum_charge": AMOUNT,
}
WRITTEN: dict[str, dict[str, Any]] = {
    "PriceEntry": {
        "width": _WIDTH,
        "pack": {
            "anyOf": [_COUNT, {"type": "string", "description": _LENGTH, "examples": ["100 ft"]}]
        },
        "price": AMOUNT,
        "breaks": {
            "type": "object",
            "propertyNames": {"pattern": "^([2-9]|[1-9][0-9]{1,5}|1000000)$(?!\n)"},
            "additionalProperties": AMOUNT,
            "maxProperties": 100,
        },
    },
    "LabourEntry": {"hour": AMOUNT},
    "FeeEntry": {"amount": AMOUNT},
    "MarkUpEntry": {"share": _MARK_UP},
    "TaxEntry": {"share": _TAX},
    **dict.fromkeys(_BOOKS, _BOOK),
}
"""How members are written that `build` reads: what the types of the schema leave open."""

_SAID = {
    "PriceEntry": ("means", "source"),
    "LabourEntry": ("source",),
    "FeeEntry": ("source",),
    "TaxEntry": ("source",),
}
"""What a file must say of each entry, and a book that comes with a request need not."""


def file_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a price book: a whole one, or one based on another."""
    _, defs = msgspec.json.schema_components([PriceFile, PriceOverlay], ref_template=REF)
    write_out(defs)
    for name, members in _SAID.items():
        defs[name]["required"] = [*defs[name]["required"], *members]
    return versioned("price book", "price book", ("PriceFile", "PriceOverlay"), defs)


def write_out(schemas: dict[str, Any], reference: str = REF) -> None:
    """Put into schemas by name how amounts, shares, packs and widths are written.

    `reference` is how one schema refers to another by `{name}`.
    """
    marked = {"$ref": reference.format(name="MarkUpEntry")}
    for name, members in WRITTEN.items():
        if name in schemas:
            schemas[name]["properties"].update(members)
    for name in _BOOKS:
        if name in schemas:
            schemas[name]["properties"]["mark_up"] = {
                "type": "object",
                "properties": {"materials": marked, "labour": marked},
                "additionalProperties": False,
            }
