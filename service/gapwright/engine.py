"""All calls in process, without a server: for a design tool, a script, or a test."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from gapwright.answers import answer, read_request
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.registry import BY_NAME
from gapwright.calls.request import BaseRequest
from gapwright.places import shipped
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.pricebooks.shelf import PriceShelf, price_folder
from gapwright.rulesets.ledger import check_in_force
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import Shelf

JsonObject = Mapping[str, Any]
F = TypeVar("F", bound=BaseRequest)


class Engine:
    """The computing calls over one folder of rule sets.

    Each method takes the same request as the HTTP call of its name, as a dictionary, and returns
    the same answer as a dictionary. Nothing is logged, no thread is started, and files are only
    read.

    Raises: InvalidRequestError with every fault of a request, RulesetNotFoundError, WithdrawnError,
    RuleFileError for a rule file that cannot be used; all are GapwrightError.
    """

    def __init__(
        self,
        rules: str | Path | None = None,
        *,
        ruleset: str = "baseline",
        price_book: str = "demo",
        today: Callable[[], date] | None = None,
    ) -> None:
        """Open a folder of rule sets; without one, the rules that come with the package.

        `ruleset` and `price_book` are used where a request names none, and `today` gives the day
        where it has no `as_of` (left out: today's date in UTC).
        """
        folder = Path(rules) if rules is not None else shipped("rules")
        self._rules, self._prices = Shelf(folder), PriceShelf(price_folder(folder))
        self._ruleset, self._price_book = ruleset, price_book
        self._today = today or today_utc

    def suitability(self, request: JsonObject) -> dict[str, Any]:
        """Return whether a barrier can be installed, and how it is attached."""
        return self._answer("suitability", request)

    def sizing(self, request: JsonObject) -> dict[str, Any]:
        """Return the strip width and how to bend the strip."""
        return self._answer("sizing", request)

    def materials(self, request: JsonObject) -> dict[str, Any]:
        """Return the material list, from a perimeter or from a layout."""
        return self._answer("materials", request)

    def layout(self, request: JsonObject) -> dict[str, Any]:
        """Return where each piece goes, with its tape marks and counts."""
        return self._answer("layout", request)

    def quote(self, request: JsonObject) -> dict[str, Any]:
        """Return the whole job: verdict, sizing, material list, labor, and price."""
        return self._answer("quote", request)

    def crew_sheet(self, request: JsonObject) -> bytes:
        """Return the crew sheet of a quote as a PDF.

        Raises CrewSheetUnavailableError for a job that no crew may be sent to. Needs the `sheet`
        extra.
        """
        from gapwright.sheet import crew_sheet, render_pdf  # an optional dependency

        typed, canonical, rules, as_of = self._read(QuoteRequest, request)
        return render_pdf(crew_sheet(typed, canonical, rules, self._book(typed, as_of), as_of))

    def _answer(self, name: str, request: JsonObject) -> dict[str, Any]:
        call = BY_NAME[name]
        typed, canonical, rules, as_of = self._read(call.request, request)
        book = self._book(typed, as_of) if call.priced else None
        found: dict[str, Any] = msgspec.json.decode(
            answer(call, typed, canonical, rules, book, as_of)
        )
        return found

    def _read(self, kind: type[F], request: JsonObject) -> tuple[F, bytes, RuleSet, date]:
        typed, canonical = read_request(kind, request)
        as_of = typed.as_of or self._today()
        name = self._ruleset if typed.ruleset is None else typed.ruleset
        rules = self._rules.pick(name, as_of)
        check_in_force(rules.name, rules.effective, typed.as_of)
        return typed, canonical, rules, as_of

    def _book(self, typed: Any, as_of: date) -> PriceBook | None:  # noqa: ANN401 - any priced request
        if typed.prices is not None and not isinstance(typed.prices, str):
            return None
        return self._prices.pick(self._price_book if typed.prices is None else typed.prices, as_of)


def today_utc() -> date:
    """Return today's date in UTC, which answers a request that names no day."""
    return datetime.now(UTC).date()
