"""How the rules desk answers: pages that send forms nowhere else, and refusals as pages."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from litestar import Request, Response

from service.api.desk import Desk
from service.api.pages import page
from service.api.problems import ProblemError, problem
from service.api.respond import refusal
from service.api.rulesets import check_query

Asking = Request[Any, Any, Any]

_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'self'"
    ),
    "cache-control": "no-cache",
}


async def shown(name: str, status: int = 200, **context: Any) -> Response[str]:  # noqa: ANN401
    """Return a page made from a template, in another thread: a long one takes a while."""
    made = await asyncio.to_thread(page, name, **context)
    made.headers.update(_HEADERS)
    made.status_code = status
    return made


def known_query(request: Asking, known: tuple[str, ...]) -> dict[str, str]:
    """Return the query's parameters, any of the known ones. Raises ProblemError for another."""
    given = request.query_params
    return check_query(request, tuple(name for name in known if name in given))


def wants_page(request: Asking) -> bool:
    """Return whether the caller is a browser, by what it says that it accepts."""
    return "text/html" in request.headers.get("accept", "").lower()


def refuser(desk: Desk) -> Callable[[Asking, ProblemError], Response[Any]]:
    """Return the handler of refusals: a page for a browser, a problem document for a program."""

    def refuse(request: Asking, error: ProblemError) -> Response[Any]:
        error.under = error.under or desk.default_imprint()
        document = refusal(error)
        if not wants_page(request):
            return document
        made = page("rules_problem.html", problem=problem(error))
        made.headers.update({**document.headers, **_HEADERS, "vary": "accept"})
        made.status_code = error.kind.status
        return made

    return refuse
