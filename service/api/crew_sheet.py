"""The crew sheet: the same request as the quote's, answered as a PDF for the roof."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Any

import msgspec
from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk, unusable
from service.api.envelope import Imprint
from service.api.intake import Intake
from service.api.problems import ProblemError
from service.api.respond import printed
from service.api.routes import check_declared, read_body
from service.calls.answers.quote import QuoteAnswer
from service.calls.quote_forms import QuoteForm
from service.canonical import canonical_result, digest
from service.errors import BadInputError, Fault
from service.pricebooks.pricebook import PriceBook
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
    from service.sheet import render_pdf  # slow to import: it brings the typesetter

    return render_pdf(gathered(form, told, rules, book, imprint))


def gathered(
    form: QuoteForm, told: bytes, rules: RuleSet, book: PriceBook | None, imprint: Imprint
) -> dict[str, Any]:
    """Return what the sheet says, with the receipt of the quote that the same request answers.

    `told` is the request in canonical form. Raises ProblemError, also for a job that no crew is to
    be sent to.
    """
    from service.calls.answers.show_quote import show_quote
    from service.calls.quoting import quote
    from service.sheet import Receipts, sheet_data

    try:
        found = quote(form, rules, book)
    except BadInputError as error:
        raise unusable(error, imprint) from None
    shown = show_quote(found, form, rules)
    obstacles = tuple(_obstacles(shown))
    if obstacles:
        detail = " ".join(fault.detail for fault in obstacles)
        raise ProblemError("no-crew-sheet", detail, obstacles, imprint)
    receipts = Receipts(
        request=digest(told).decode(),
        result=digest(canonical_result(shown)).decode(),
    )
    return sheet_data(found, msgspec.to_builtins(shown), form, rules, receipts)


def _obstacles(shown: QuoteAnswer) -> Iterator[Fault]:
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
