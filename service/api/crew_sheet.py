"""The crew sheet: the same request as the quote's, answered as a PDF for the roof."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk, unusable
from service.api.envelope import Imprint
from service.api.intake import Intake
from service.api.problems import ProblemError
from service.api.respond import printed
from service.api.routes import check_declared, read_body
from service.calls.quote_forms import QuoteForm
from service.canonical import digest
from service.errors import BadInputError, Fault
from service.pricebooks.pricebook import PriceBook
from service.quantity.output import encode
from service.rulesets.ruleset import RuleSet


def crew_sheet_route(desk: Desk) -> HTTPRouteHandler:
    """Return the route that makes the crew sheet of a quote."""
    intake: Intake[QuoteForm] = Intake(QuoteForm)

    @post("/v1/quote/crew-sheet", status_code=200)
    async def crew_sheet(request: Request[Any, Any, Any]) -> Response[bytes]:
        check_declared(request.scope)
        body = await read_body(request.receive, desk.settings.most_body_bytes)
        form, told = desk.form(intake, body)
        rules = await desk.rules(form.ruleset, form.as_of)
        imprint = desk.imprint(rules)
        book = await desk.named_book(form, imprint)
        pdf = await asyncio.to_thread(made, form, told, rules, book, imprint)
        return printed(pdf, "crew-sheet.pdf", imprint.headers)

    return crew_sheet


def made(
    form: QuoteForm, told: bytes, rules: RuleSet, book: PriceBook | None, imprint: Imprint
) -> bytes:
    """Return the sheet as a PDF. Raises ProblemError as `gathered` does."""
    from service.sheet import pdf  # typesetting takes longer to read in than the service to start

    return pdf(gathered(form, told, rules, book, imprint))


def gathered(
    form: QuoteForm, told: bytes, rules: RuleSet, book: PriceBook | None, imprint: Imprint
) -> dict[str, Any]:
    """Return what the sheet says, with the receipt of the quote that the same request answers.

    `told` is the request in canonical form. Raises ProblemError, also for a job that no crew is to
    be sent to.
    """
    from service.calls.quote_result import quote_result
    from service.calls.quoting import quote
    from service.sheet import Receipts, sheet_data

    try:
        found = quote(form, rules, book)
    except BadInputError as error:
        raise unusable(error, imprint) from None
    result = encode(quote_result(found, form, rules), form.units or rules.units)
    shown = json.loads(result, object_hook=lambda members: SimpleNamespace(**members))
    obstacles = tuple(_obstacles(shown))
    if obstacles:
        detail = " ".join(fault.detail for fault in obstacles)
        raise ProblemError("no-crew-sheet", detail, obstacles, imprint)
    receipts = Receipts(
        request=digest(told).decode(),
        result=digest(result).decode(),
    )
    return sheet_data(found, shown, form, rules, receipts)


def _obstacles(shown: Any) -> Iterator[Fault]:
    """Yield why no crew may be sent: reasons against the job, and arrays that no strip suits."""
    for one in shown.suitability.reasons:
        if one.verdict == "unsuitable":
            remedy = one.remedy or "Nothing that the request can tell would change that."
            yield Fault(path=(), problem=one.reason, remedy=remedy)
    for sizing in shown.sizing:
        if sizing.strip.width is None:
            arrays = ", ".join(sizing.arrays)
            problem = f"No stocked strip is wide enough for {arrays}."
            remedy = " ".join(advice.text for advice in sizing.advice)
            yield Fault(path=("planes",), problem=problem, remedy=remedy)
