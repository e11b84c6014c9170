"""The price books in the published contract."""

from __future__ import annotations

import msgspec

from service.api.contract_parts import Schema, parameter, reading_operation
from service.api.pricebooks import (
    PricebookAnswer,
    PricebookList,
    PriceChangesAnswer,
    WholePricebook,
)

BOOK_KINDS: list[type[msgspec.Struct]] = [
    PricebookList,
    PricebookAnswer,
    WholePricebook,
    PriceChangesAnswer,
]
"""The wire forms of the calls that show price books."""


def pricebook_paths() -> Schema:
    """Return the paths that show price books."""
    identifier = parameter("identifier", "path", "demo", "The price book's id.")
    version = parameter("version", "path", "1.1.0", "One of its published versions.")
    since = parameter("since", "query", "1.0.0", "The version to compare with.")
    one = (identifier, version)
    operations = {
        "/v1/pricebooks": reading_operation("pricebooks", "Which price books", PricebookList),
        "/v1/pricebooks/{identifier}": reading_operation(
            "pricebook", "Its versions", PricebookAnswer, (identifier,)
        ),
        "/v1/pricebooks/{identifier}/{version}": reading_operation(
            "pricebook_version", "One version, whole", WholePricebook, one, lasting=True
        ),
        "/v1/pricebooks/{identifier}/{version}/changes": reading_operation(
            "pricebook_changes",
            "What changed since another",
            PriceChangesAnswer,
            (*one, since),
            lasting=True,
        ),
    }
    return {path: {"get": operation} for path, operation in operations.items()}
