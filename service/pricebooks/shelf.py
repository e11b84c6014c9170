"""The shelf of price books: a folder beside the rule sets, with a ledger of its own."""

from __future__ import annotations

from pathlib import Path

from service.errors import Fault
from service.pricebooks.build import build, digest
from service.pricebooks.pricebook import PriceBook
from service.pricebooks.schema import PriceFile, PriceOverlay
from service.rulesets.files import Files
from service.rulesets.kind import Kind
from service.rulesets.overlay import Content, Shape
from service.rulesets.overlay_faults import removal_faults
from service.rulesets.shelf import AnyShelf

FOLDER = "prices"
"""The folder of price books inside that of the rule sets; no rule set may have this id."""

SECTIONS = ("sources", "prices", "fees", "mark_up", "tax")
SCALARS = ("currency", "rounding", "labour", "minimum_charge")


def change_faults(base: Content, change: Content) -> list[Fault]:
    """Return every fault of a change against the book that it is laid over."""
    found = list(removal_faults(base, change))
    currency = base.get("currency")
    if change.get("currency", currency) != currency:
        problem = f"The book that this is based on is in {currency}, and currencies never mix."
        remedy = "Leave it out, or write a whole book with amounts of its own."
        found.append(Fault(path=("currency",), problem=problem, remedy=remedy))
    return found


PRICE_BOOKS: Kind[PriceBook] = Kind(
    noun="price book",
    files=Files(
        whole=PriceFile,
        change=PriceOverlay,
        shape=Shape(sections=SECTIONS, inherited=SCALARS),
        change_faults=change_faults,
    ),
    build=build,
    digest=digest,
)


class PriceShelf(AnyShelf[PriceBook]):
    """The price books of one folder."""

    kind = PRICE_BOOKS


def price_folder(rules: Path) -> Path:
    """Return the folder of price books inside a folder of rule sets."""
    return rules / FOLDER
