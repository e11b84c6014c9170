"""The drawing of a layout: the same request as the layout's, answered as SVG."""

from __future__ import annotations

import asyncio
from typing import Any

from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk, unusable
from service.api.intake import Intake
from service.api.respond import picture
from service.api.routes import check_declared, read_body
from service.calls.layout import drawing as draw_layout
from service.calls.layout_forms import LayoutForm
from service.errors import BadInputError


def drawing_route(desk: Desk) -> HTTPRouteHandler:
    """Return the route that draws a layout."""
    intake: Intake[LayoutForm] = Intake(LayoutForm)

    @post("/v1/layout/drawing", status_code=200)
    async def draw(request: Request[Any, Any, Any]) -> Response[str]:
        check_declared(request.scope)
        body = await read_body(request.receive, desk.settings.most_body_bytes)
        form, _ = await desk.read(intake, body)
        rules = await desk.rules(form.ruleset, form.as_of)
        imprint = desk.imprint(rules)
        try:
            drawn = await asyncio.to_thread(draw_layout, form, rules)
        except BadInputError as error:
            raise unusable(error, imprint) from None
        return picture(drawn, imprint.headers)

    return draw
