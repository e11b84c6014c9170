"""The application factory: it joins settings, shelf, desk and routes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import structlog
from litestar import Litestar, Request, Response
from litestar.exceptions import (
    HTTPException,
    MethodNotAllowedException,
    NotFoundException,
)
from litestar.types import ASGIApp

from service.api.bulk import bulk_route
from service.api.crew_sheet import crew_sheet_route
from service.api.desk import Desk
from service.api.draft import draft_route
from service.api.drawing import drawing_route
from service.api.observe import Observed
from service.api.pricebooks import pricebook_routes
from service.api.problems import ProblemError
from service.api.respond import refusal
from service.api.routes import computing_route, responder
from service.api.rules_desk.routes import rules_desk_routes
from service.api.rulesets import ruleset_routes
from service.api.settings import Settings
from service.api.sweep import sweeping
from service.api.system import system_routes
from service.api.warm import warming
from service.api.watch import watching
from service.calls.computing import CALLS
from service.publishing.examples import judge_at_load
from service.rulesets.shelf import Shelf

log: structlog.stdlib.BoundLogger = structlog.get_logger()


def create_app(
    settings: Settings | None = None,
    shelf: Shelf | None = None,
    today: Callable[[], date] | None = None,
    *,
    warm: bool = False,
) -> ASGIApp:
    """Return the service as an ASGI application.

    Left out: the shipped rules, and today's date (UTC). `warm` reads in beside the first requests
    what they would else wait for, and looks through files that nobody asked for: only where nobody
    else in the process reads in modules then.
    """
    settings = settings or Settings()
    shelf = shelf or Shelf(settings.rules, judge_at_load)
    desk = Desk(settings, shelf, today or _today)
    computing = {call.path: responder(call, desk) for call in CALLS}
    routes = [
        *(computing_route(path, respond) for path, respond in computing.items()),
        drawing_route(desk),
        bulk_route(desk),
        crew_sheet_route(desk),
        draft_route(desk),
        *ruleset_routes(desk),
        *pricebook_routes(desk),
        *rules_desk_routes(desk),
        *system_routes(desk),
    ]
    inner = Litestar(
        routes,
        openapi_config=None,
        logging_config=None,
        lifespan=[watching(desk), *([warming, sweeping(desk)] if warm else [])],
        exception_handlers=_Refuser(desk).handlers(),
    )
    return Observed(inner, computing)


def _today() -> date:
    return datetime.now(UTC).date()


class _Refuser:
    """Turns every exception into a problem document that names the default rule set."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def handlers(self) -> dict[Any, Any]:
        """Return the exception handlers of the application."""
        return {
            ProblemError: self._refuse,
            NotFoundException: self._not_found,
            MethodNotAllowedException: self._method,
            HTTPException: self._unusable,
            Exception: self._fail,
        }

    def _refuse(self, _: Request[Any, Any, Any], error: ProblemError) -> Response[bytes]:
        error.under = error.under or self._desk.default_imprint()
        return refusal(error)

    def _not_found(self, request: Request[Any, Any, Any], _: Exception) -> Response[bytes]:
        return self._refuse(request, ProblemError("not-found", "See /docs for what there is."))

    def _method(
        self, request: Request[Any, Any, Any], error: MethodNotAllowedException
    ) -> Response[bytes]:
        allow = next((v for k, v in (error.headers or {}).items() if k.lower() == "allow"), "")
        detail = f"This address takes {allow}."
        headers = ((b"allow", allow.encode()),)
        return self._refuse(request, ProblemError("method-not-allowed", detail, headers=headers))

    def _unusable(self, request: Request[Any, Any, Any], error: HTTPException) -> Response[bytes]:
        if error.status_code >= 500:
            return self._fail(request, error)
        return self._refuse(request, ProblemError("malformed-body", error.detail))

    def _fail(self, request: Request[Any, Any, Any], error: Exception) -> Response[bytes]:
        log.error("request failed", exc_info=error, path=request.url.path)
        detail = "The log has the cause under the request id."
        return self._refuse(request, ProblemError("internal-error", detail))
