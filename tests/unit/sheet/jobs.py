"""Jobs whose sheets the tests read, and the text of a printed sheet."""

from __future__ import annotations

import json
import re
from datetime import date
from functools import lru_cache
from typing import Any

import msgspec
from gapwright.api.body import read_typed
from gapwright.calls.quote import Quote, quote
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.quote_result import quote_result
from gapwright.places import shipped
from gapwright.quantity.output import encode
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import Shelf
from gapwright.sheet import Receipts, render_pdf, sheet_data
from pypdfium2 import PdfDocument, PdfPage

from tests.history import RULES as HISTORY

RECEIPTS = Receipts(request="sha256:" + "1" * 64, result="sha256:" + "2" * 64)
DAY = date(2026, 12, 1)
LETTER, A4 = (612, 792), (595, 842)


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet with what it was made from."""

    found: Quote
    answer: dict[str, Any]
    data: dict[str, Any]
    pdf: bytes

    @property
    def text(self) -> str:
        """Return all that is printed, in reading order."""
        return text_of(self.pdf)

    @property
    def document(self) -> PdfDocument:
        """Return the printed pages."""
        return PdfDocument(self.pdf)


@lru_cache(maxsize=1)
def rules() -> RuleSet:
    return Shelf(HISTORY).pick("baseline@2.0.0", DAY)


def example(name: str) -> dict[str, Any]:
    return json.loads((shipped("openapi") / "examples" / f"{name}.json").read_bytes())


def printed(request: dict[str, Any]) -> Sheet:
    """Return the sheet of a quote request under the baseline."""
    form, _ = read_typed(QuoteRequest, json.dumps(request).encode())
    found = quote(form, rules(), None)
    answer = json.loads(encode(quote_result(found, form, rules()), form.units or rules().units))
    data = sheet_data(found, answer, form, rules(), RECEIPTS, DAY)
    return Sheet(found=found, answer=answer, data=data, pdf=render_pdf(data))


@lru_cache(maxsize=8)
def shown(name: str, units: str = "imperial") -> Sheet:
    """Return the sheet of an example request, made once."""
    return printed(example(name) | {"units": units})


@lru_cache(maxsize=32)
def text_of(pdf: bytes) -> str:
    """Return the text of a PDF with single spaces, and words whole that a line divides."""
    return spaced("\n".join(page_text(page) for page in PdfDocument(pdf)))


def page_text(page: PdfPage) -> str:
    return page.get_textpage().get_text_range()


def spaced(text: str) -> str:
    """Return text with single spaces, and none where a line may break within a word.

    That is after a hyphen, between parentheses, and at a zero-width space.
    """
    text = re.sub(r"\s+", " ", text.replace("\u200b", "").replace("\ufffe", "-"))
    return text.replace("- ", "-").replace(") (", ")(")


def block(rows: int, columns: int, **more: Any) -> dict[str, Any]:
    """Return a drawn plane of so many modules."""
    one = {"rows": rows, "columns": columns, "long_side": "69 in", "short_side": "41 in"}
    return {"array": {"blocks": [one | {"column_gap": "1/2 in", "row_gap": "1 in"}]}, **more}
