"""The crew sheet: the same request as the quote's, answered as a PDF for the roof."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Any

import msgspec
from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from service.api.body import read_body, read_form
from service.api.calls import named_book
from service.api.catalog import Catalogs
from service.api.envelope import answer_headers
from service.api.operation import Operation
from service.api.problems import ProblemError, refusing
from service.calls.quote import quote
from service.calls.quote_request import QuoteForm
from service.calls.quote_result import quote_result
from service.canonical import digest
from service.errors import Fault
from service.pricebooks.pricebook import PriceBook
from service.quantity.output import encode
from service.rulesets.ruleset import RuleSet
from service.sheet import Receipts, render_pdf, sheet_data

_OPERATION = Operation(
    id="quote_crew_sheet",
    summary="The whole job as a sheet for the roof, to be printed",
    description="Print what a crew needs of the quote that the same request to /v1/quote answers,"
    " with its receipt and without its prices; letter paper for imperial units, A4 for metric"
    " ones.",
    request=QuoteForm,
    examples=("quote-sparse", "quote-house"),
    answer_media_type="application/pdf",
)


def crew_sheet_route(catalogs: Catalogs) -> HTTPRouteHandler:
    """Return the route that makes the crew sheet of a quote."""

    @post("/v1/quote/crew-sheet", status_code=200, opt={"operation": _OPERATION})
    async def crew_sheet(request: Request[Any, Any, Any]) -> Response[bytes]:
        with refusing():
            form, canonical = read_form(QuoteForm, await read_body(request))
        rules = await catalogs.pick_rules(form.ruleset, form.as_of)
        book = await named_book(form, catalogs, rules)
        content = await asyncio.to_thread(
            lambda: render_pdf(crew_sheet_data(form, canonical, rules, book))
        )
        headers = {
            **answer_headers(rules),
            "content-disposition": 'inline; filename="crew-sheet.pdf"',
        }
        return Response(content, media_type="application/pdf", headers=headers)

    return crew_sheet


def crew_sheet_data(
    form: QuoteForm, canonical: bytes, rules: RuleSet, book: PriceBook | None
) -> dict[str, Any]:
    """Return what the sheet says, with the receipt of the quote that the same request answers.

    `canonical` is the request in canonical form. Raises ProblemError, also for a job that no crew
    is to be sent to.
    """
    with refusing(rules):
        found = quote(form, rules, book)
    result = encode(quote_result(found, form, rules), form.units or rules.units)
    answer: dict[str, Any] = msgspec.json.decode(result)
    if obstacles := tuple(_obstacles(answer)):
        detail = " ".join(fault.detail for fault in obstacles)
        raise ProblemError("no-crew-sheet", detail, obstacles, rules)
    receipts = Receipts(request=digest(canonical).decode(), result=digest(result).decode())
    return sheet_data(found, answer, form, rules, receipts)


def _obstacles(answer: dict[str, Any]) -> Iterator[Fault]:
    """Yield why no crew may be sent: reasons against the job, and arrays that no strip suits."""
    for one in answer["suitability"]["reasons"]:
        if one["verdict"] == "unsuitable":
            remedy = one["remedy"] or "Nothing that the request can tell would change that."
            yield Fault(path=(), problem=one["reason"], remedy=remedy)
    for sizing in answer["sizing"]:
        if sizing["strip"]["width"] is None:
            problem = f"No stocked strip is wide enough for {', '.join(sizing['arrays'])}."
            remedy = " ".join(advice["text"] for advice in sizing["advice"])
            yield Fault(path=("planes",), problem=problem, remedy=remedy)
