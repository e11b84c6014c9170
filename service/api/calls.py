"""The routes of the computing calls: each reads a form, picks the rules, and calls."""

from __future__ import annotations

import asyncio
from inspect import cleandoc
from typing import Any

from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from service.api.body import read_body, read_form
from service.api.catalog import Catalogs
from service.api.envelope import Envelope, answer_headers, encode_envelope
from service.api.operation import Operation
from service.api.problems import ProblemError, refusing
from service.calls.layout import LayoutForm
from service.calls.layout import drawing as draw_layout
from service.calls.registry import CALLS, Call
from service.pricebooks.pricebook import PriceBook
from service.rulesets.recording import recording
from service.rulesets.ruleset import RuleSet

_SVG_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def call_routes(catalogs: Catalogs) -> list[HTTPRouteHandler]:
    """Return the routes of the computing calls, and that of the drawing of a layout."""
    return [*(_call_route(call, catalogs) for call in CALLS), _drawing_route(catalogs)]


def _call_route(call: Call, catalogs: Catalogs) -> HTTPRouteHandler:
    operation = Operation(
        id=call.path.removeprefix("/v1/"),
        summary=call.summary,
        description=cleandoc(call.form.__doc__ or ""),
        request=call.form,
        examples=call.examples,
        answers=call.answers,
        answer=Envelope[call.answer],  # type: ignore[name-defined]
    )

    @post(call.path, status_code=200, opt={"operation": operation})
    async def compute(request: Request[Any, Any, Any]) -> Response[bytes]:
        content, rules = await answer(call, catalogs, await read_body(request))
        return Response(content, media_type="application/json", headers=answer_headers(rules))

    return compute


async def answer(call: Call, catalogs: Catalogs, body: bytes) -> tuple[bytes, RuleSet]:
    """Return the encoded answer to a body, and the rule set that it follows.

    Heavy work is done in another thread, so that other requests need not wait for it.
    Raises ProblemError.
    """
    with refusing():
        form, canonical = read_form(call.form, body)
    rules = await catalogs.pick_rules(form.ruleset, form.as_of)
    books = (await named_book(form, catalogs, rules),) if call.priced else ()

    def compute() -> bytes:
        with refusing(rules):
            used = recording(rules) if form.explain else rules
            computed = call.compute(form, used, *books)
            return encode_envelope(canonical, computed, form.units or rules.units, used)

    return (await asyncio.to_thread(compute) if call.heavy(form) else compute()), rules


async def named_book(form: Any, catalogs: Catalogs, rules: RuleSet) -> PriceBook | None:  # noqa: ANN401
    """Return the price book that a form names; None where it brings one along.

    Raises ProblemError.
    """
    if form.prices is not None and not isinstance(form.prices, str):
        return None
    try:
        return await catalogs.pick_prices(form.prices, form.as_of)
    except ProblemError as error:
        error.rules = rules
        raise


def _drawing_route(catalogs: Catalogs) -> HTTPRouteHandler:
    operation = Operation(
        id="layout_drawing",
        summary="The layout, drawn to scale",
        description="Draw the layout that the same request to /v1/layout answers.",
        request=LayoutForm,
        examples=("layout-block",),
        answer_media_type="image/svg+xml",
    )

    @post("/v1/layout/drawing", status_code=200, opt={"operation": operation})
    async def draw(request: Request[Any, Any, Any]) -> Response[str]:
        with refusing():
            form, _ = read_form(LayoutForm, await read_body(request))
        rules = await catalogs.pick_rules(form.ruleset, form.as_of)
        with refusing(rules):
            svg = await asyncio.to_thread(draw_layout, form, rules)
        headers = {**answer_headers(rules), "content-security-policy": _SVG_POLICY}
        return Response(svg, media_type="image/svg+xml", headers=headers)

    return draw
