"""Quotes that the tests of quoting share: asked by the shipped rule sets and the demonstration's
price book."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.quote_result import compute_quote
from gapwright.calls.request import Computed
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.pricebooks.shelf import PriceShelf
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import Shelf
from gapwright.strict import convert

from tests.history import RULES as HISTORY
from tests.unit.wire import as_sent

LATEST = "baseline@1.2.0"
SITE = {"roof_covering": "asphalt_shingle", "racking": "rail_mounted"}
"""A roof that is suitable once its clearance is told."""


@lru_cache(maxsize=8)
def named(name: str) -> RuleSet:
    shelf = Shelf(HISTORY)
    identifier, version = name.split("@")
    return shelf.load(shelf.ledger[identifier][version])


@lru_cache(maxsize=4)
def demo(version: str = "1.0.0") -> PriceBook:
    shelf = PriceShelf(HISTORY / "prices")
    return shelf.load(shelf.ledger["demo"][version])


def computed(request: Any, rules: RuleSet | None = None, book: PriceBook | None = None) -> Computed:
    request = convert(request, QuoteRequest)
    return compute_quote(request, rules or named(LATEST), book or demo())


def ask(request: Any, rules: RuleSet | None = None, book: PriceBook | None = None) -> Any:
    """Return the result of a quote as plain JSON data."""
    units = convert(request, QuoteRequest).units or (rules or named(LATEST)).units
    return as_sent(computed(request, rules, book).result, units)


def readings(*told: str | float) -> dict[str, list[str]]:
    return {"readings": [f"{reading} in" for reading in told]}


def area(perimeter: str = "90 ft", *told: str | float, **more: Any) -> dict[str, Any]:
    """Return an array by its perimeter, with readings of its own if any are told."""
    own = {"clearance": readings(*told)} if told else {}
    return {"perimeter": perimeter, "corners": 4, **own, **more}


def job(*areas: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a job on one roof plane, of which nothing that moves the price is left out."""
    told = {"pitch": "low", "stories": 1, "crew": 2, "working_day": "8 h"}
    return {**SITE, **told, "planes": [{"arrays": list(areas)}], **more}


def block(rows: int = 2, columns: int = 3) -> dict[str, Any]:
    sides = {"long_side": "69 in", "short_side": "41 in"}
    gaps = {"column_gap": "1/2 in", "row_gap": "1 in"}
    return {"blocks": [{"rows": rows, "columns": columns, **sides, **gaps}]}


def drawn(*told: str | float, rows: int = 2, columns: int = 3, **more: Any) -> dict[str, Any]:
    """Return a roof plane with a drawn array, with readings of its own if any are told."""
    own = {"clearance": readings(*told)} if told else {}
    return {"array": block(rows, columns), **own, **more}
