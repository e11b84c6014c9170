"""The outermost layer: request ids, one log line a request, and no failure without a problem."""

from __future__ import annotations

import re
import time
from collections.abc import MutableMapping
from secrets import token_hex
from typing import Any

import structlog
from litestar.enums import ScopeType
from litestar.types import ASGIApp, Message, Receive, Scope, Send

from service.api.problems import ProblemError
from service.api.respond import send_refusal

_ACCEPTED = re.compile(rb"[A-Za-z0-9._:-]{1,128}")
_RULESET = b"gapwright-ruleset"

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class Observed:
    """An ASGI application whose requests carry an id, are logged, and never fail silently.

    A caller's `X-Request-ID` is taken over when it is short and plain, else one is made; it is
    returned, and stands in the log. Bodies and other headers are never logged.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != ScopeType.HTTP:
            await self.app(scope, receive, send)
            return
        started = time.perf_counter()
        request_id = _request_id(scope)
        method = scope["method"]
        seen: MutableMapping[str, Any] = {"status": 0}

        async def send_on(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = list(message["headers"])
                headers.append((b"x-request-id", request_id))
                seen["status"] = message["status"]
                seen["ruleset"] = next((v for k, v in headers if k == _RULESET), b"").decode()
                message["headers"] = headers
            await send(message)

        try:
            await self.app(scope, receive, send_on)
        except Exception:
            log.exception("request failed", request_id=request_id.decode(), path=scope["path"])
            if not seen["status"]:
                error = ProblemError("internal-error", "The log has it under the request id.")
                await send_refusal(send_on, error)
        log.info(
            "request",
            request_id=request_id.decode(),
            method=method,
            path=scope["path"][:200],
            status=seen["status"],
            ruleset=seen.get("ruleset", ""),
            ms=round((time.perf_counter() - started) * 1000, 3),
        )


def _request_id(scope: Scope) -> bytes:
    for name, value in scope["headers"]:
        if name == b"x-request-id" and _ACCEPTED.fullmatch(value):
            return bytes(value)
    return token_hex(16).encode()
