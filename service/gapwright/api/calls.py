"""The routes of the computing calls, and those that draw and print what they answer."""

from __future__ import annotations

import asyncio
import re
from datetime import date
from inspect import cleandoc
from typing import Any, TypeVar

import msgspec
from litestar import Request, Response, post
from litestar.datastructures.headers import Accept
from litestar.handlers import HTTPRouteHandler

from gapwright import answers
from gapwright.answers import Envelope
from gapwright.api.body import parse_json, read_body, read_typed
from gapwright.api.catalog import Catalogs
from gapwright.api.envelope import BYTES, answer_headers, answer_media_type
from gapwright.api.openapi import COMPUTING, Operation
from gapwright.api.problems import ProblemError, refusing
from gapwright.calls.layout import LayoutRequest, drawing, drawing_dxf
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.registry import CALLS, Call
from gapwright.calls.request import BaseRequest
from gapwright.errors import InvalidRequestError
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.rulesets.ruleset import RuleSet
from gapwright.sheet import crew_sheet, render_pdf

F = TypeVar("F", bound=BaseRequest)

_SVG_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
_SVG, _DXF = "image/svg+xml", "image/vnd.dxf"
_REFUSED = re.compile(r";\s*q=0(\.0*)?\s*(;|$)")
"""A weight that rules a media type out (RFC 9110, 12.4.2), which the framework does not know."""
_DRAWING = Operation(
    id="draw_layout",
    tag="Jobs",
    summary="Draw the layout to scale",
    description="Draw the layout that /v1/layout returns for the same request, as SVG, or as"
    " full-size DXF if the Accept header asks for image/vnd.dxf. The layers of the DXF file are"
    " MODULES, OUTLINES, RAILS, BARRIER, OVERLAPS, TABS, RETURNS, CLIPS, PENETRATIONS, and"
    " LABELS; its header gives the units, inches or millimeters.",
    request=LayoutRequest,
    examples=("layout-block",),
    answer_media_types=(_SVG, _DXF),
    refusals=tuple(sorted((*COMPUTING, 406))),
)
_CREW_SHEET = Operation(
    id="print_crew_sheet",
    tag="Jobs",
    summary="Print the whole job as a crew sheet",
    description="Print what a crew needs from the quote that /v1/quote returns for the same"
    " request, with its receipt but without its prices. The paper is US Letter for imperial units"
    " and A4 for metric units.",
    request=QuoteRequest,
    examples=("quote-sparse", "quote-house"),
    answer_media_types=("application/pdf",),
)


def call_routes(catalogs: Catalogs) -> list[HTTPRouteHandler]:
    """Return the routes of the computing calls, of the drawing, and of the crew sheet."""

    @post("/v1/layout/drawing", status_code=200, opt={"operation": _DRAWING})
    async def draw(request: Request[Any, Any, Any]) -> Response[bytes]:
        media_type = _drawing_type(request)
        body = await read_body(request, catalogs.settings)
        typed, _, rules, _ = await read_request(LayoutRequest, catalogs, body)
        draw_layout = drawing_dxf if media_type == _DXF else drawing
        with refusing(rules):
            drawn = await asyncio.to_thread(draw_layout, typed, rules)
        headers = {**answer_headers(rules), "vary": "accept"}
        if media_type != _DXF:
            headers["content-security-policy"] = _SVG_POLICY
        return Response(drawn.encode(), media_type=media_type, headers=headers)

    @post("/v1/quote/crew-sheet", status_code=200, opt={"operation": _CREW_SHEET})
    async def print_sheet(request: Request[Any, Any, Any]) -> Response[bytes]:
        body = await read_body(request, catalogs.settings)
        typed, canonical, rules, as_of = await read_request(QuoteRequest, catalogs, body)
        book = await named_book(typed, catalogs, rules, as_of)
        with refusing(rules):
            content = await asyncio.to_thread(
                lambda: render_pdf(crew_sheet(typed, canonical, rules, book, as_of))
            )
        disposition = {"content-disposition": 'inline; filename="crew-sheet.pdf"'}
        headers = {**answer_headers(rules), **disposition}
        media_type = answer_media_type(request.scope, "application/pdf")
        return Response(content, media_type=media_type, headers=headers)

    return [*(_call_route(call, catalogs) for call in CALLS), draw, print_sheet]


def _drawing_type(request: Request[Any, Any, Any]) -> str:
    """Return the media type of a drawing that the caller accepts, SVG first.

    Raises ProblemError.
    """
    header = request.headers.get("accept") or "*/*"
    ranges = [part for part in header.split(",") if not _REFUSED.search(part)]
    refused = {part.partition(";")[0].strip() for part in header.split(",") if part not in ranges}
    offered = [media_type for media_type in (_SVG, _DXF, BYTES) if media_type not in refused]
    try:
        found = Accept(",".join(ranges)).best_match(offered) if ranges else None
    except OverflowError:  # an infinite q
        found = None
    if found is None:
        raise ProblemError("not-acceptable", f"A drawing is available as {_SVG} or {_DXF}.")
    return found


def _call_route(call: Call, catalogs: Catalogs) -> HTTPRouteHandler:
    operation = Operation(
        id=call.id,
        tag="Jobs",
        summary=call.summary,
        description=cleandoc(call.request.__doc__ or ""),
        request=call.request,
        examples=call.examples,
        answers=call.answers,
        answer=Envelope[call.answer],  # type: ignore[name-defined]
    )

    @post(call.path, status_code=200, opt={"operation": operation})
    async def compute(request: Request[Any, Any, Any]) -> Response[bytes]:
        body = await read_body(request, catalogs.settings)
        content, rules = await answer(call, catalogs, body)
        return Response(content, media_type="application/json", headers=answer_headers(rules))

    return compute


async def answer(call: Call, catalogs: Catalogs, body: bytes) -> tuple[bytes, RuleSet]:
    """Return the encoded answer to a body, and the rule set that it follows.

    Heavy work is done in another thread, so that other requests need not wait for it.
    Raises ProblemError.
    """
    typed, canonical, rules, as_of = await read_request(call.request, catalogs, body)
    book = await named_book(typed, catalogs, rules, as_of) if call.priced else None

    def compute() -> bytes:
        with refusing(rules):
            return answers.answer(call, typed, canonical, rules, book, as_of)

    return (await asyncio.to_thread(compute) if call.heavy(typed) else compute()), rules


async def read_request(
    kind: type[F], catalogs: Catalogs, body: bytes
) -> tuple[F, bytes, RuleSet, date]:
    """Return a typed request, the request in canonical form, its rule set, and its day.

    Raises ProblemError.
    """
    today = catalogs.today()  # asked once: all that answers a request follows one day
    try:
        typed, canonical = read_typed(kind, body)
    except InvalidRequestError:
        with refusing(await _requested_rules(parse_json(body), catalogs, today)):
            raise
    rules = await catalogs.pick_rules(typed.ruleset, typed.as_of, today)
    return typed, canonical, rules, typed.as_of or today


class _RulesetChoice(msgspec.Struct, frozen=True):
    ruleset: str | None = None
    as_of: date | None = None


async def _requested_rules(data: Any, catalogs: Catalogs, today: date) -> RuleSet | None:  # noqa: ANN401
    """Return the rule set that an invalid request asks for, or None if there is none such."""
    try:
        choice = msgspec.convert(data, _RulesetChoice)
        return await catalogs.pick_rules(choice.ruleset, choice.as_of, today)
    except (msgspec.ValidationError, ProblemError):
        return None


async def named_book(
    typed: Any,  # noqa: ANN401 - any priced request
    catalogs: Catalogs,
    rules: RuleSet,
    as_of: date,
) -> PriceBook | None:
    """Return the price book that a request names, or None where it contains one.

    Raises ProblemError.
    """
    if typed.prices is not None and not isinstance(typed.prices, str):
        return None
    try:
        return await catalogs.pick_prices(typed.prices, as_of)
    except ProblemError as error:
        error.rules = rules
        raise
