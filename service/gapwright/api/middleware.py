"""The outermost layer: request ids, and one log line a request."""

from __future__ import annotations

import re
import time
from collections.abc import Iterable
from secrets import token_hex

import structlog
from litestar.enums import ScopeType
from litestar.types import ASGIApp, Message, Receive, Scope, Send
from structlog.contextvars import bind_contextvars

_ACCEPTED_ID = re.compile(rb"[A-Za-z0-9._:-]{1,128}")

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class RequestLog:
    """An ASGI application whose requests carry an id and are logged.

    It wraps the framework's application, whose own middleware does not see requests that have no
    route. A caller's `X-Request-ID` is used when it is short and plain, else one is made; it is
    returned and logged. Bodies and other headers are never logged.

    HEAD is answered as GET is, less the body (RFC 9110, 9.3.2).
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != ScopeType.HTTP:
            await self.app(scope, receive, send)
            return
        started = time.perf_counter()
        method, request_id = scope["method"], _request_id(scope["headers"])
        status, ruleset = 0, ""

        async def send_with_id(message: Message) -> None:
            nonlocal status, ruleset
            if message["type"] == "http.response.start":
                headers = {**dict(message["headers"]), b"x-request-id": request_id}
                if b"GET" in headers.get(b"allow", b"").split(b", "):
                    headers[b"allow"] += b", HEAD"
                message["headers"] = list(headers.items())
                status = message["status"]
                ruleset = headers.get(b"gapwright-ruleset", b"").decode()
            elif message["type"] == "http.response.body" and method == "HEAD":
                message["body"] = b""
            await send(message)

        # each request is served in a task, and so in a context, of its own
        bind_contextvars(request_id=request_id.decode())
        try:
            served: Scope = {**scope, "method": "GET"} if method == "HEAD" else scope
            await self.app(served, receive, send_with_id)
        except Exception:  # the answer had begun, or else it would be a problem document
            log.exception("request failed")
        log.info(
            "request",
            method=method,
            path=scope["path"][:200],
            status=status,
            ruleset=ruleset,
            ms=round((time.perf_counter() - started) * 1000, 3),
        )


def _request_id(headers: Iterable[tuple[bytes, bytes]]) -> bytes:
    """Return the caller's own id where it is plain, or a new one."""
    for name, value in headers:
        if name == b"x-request-id" and _ACCEPTED_ID.fullmatch(value):
            return value
    return token_hex(16).encode()
