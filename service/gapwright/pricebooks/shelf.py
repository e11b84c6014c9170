"""The shelf of price books: a folder inside that of the rule sets, with its own ledger."""

from __future__ import annotations

from pathlib import Path

from gapwright.pricebooks.build import PRICE_BOOKS
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.rulesets.shelf import AnyShelf

FOLDER = "prices"
"""The folder of price books inside that of the rule sets; no rule set may have this id."""


class PriceShelf(AnyShelf[PriceBook]):
    """The price books of one folder."""

    kind = PRICE_BOOKS


def price_folder(rules: Path) -> Path:
    """Return the folder of price books inside a folder of rule sets."""
    return rules / FOLDER
