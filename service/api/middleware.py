"""The outermost layer: request ids, and one log line a request."""

from __future__ import annotations

import re
import time
from secrets import token_hex

import structlog
from litestar.enums import ScopeType
from litestar.types import ASGIApp, Message, Receive, Scope, Send

_ACCEPTED_ID = re.compile(r"[A-Za-z0-9._:-]{1,128}")

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class RequestLog:
    """An ASGI application whose requests carry an id and are logged.

    It stands round the framework's application, whose own middleware does not see requests that
    have no route. A caller's `X-Request-ID` is taken over when it is short and plain, else one is
    made; it is returned, and stands in the log. Bodies and other headers are never logged.

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
        method, given = scope["method"], dict(scope["headers"]).get(b"x-request-id", b"")
        request_id = given.decode("latin-1")
        if not _ACCEPTED_ID.fullmatch(request_id):
            request_id = token_hex(16)
        status, headers = 0, {}

        async def send_with_id(message: Message) -> None:
            nonlocal status, headers
            if message["type"] == "http.response.start":
                status = message["status"]
                headers = {name.lower(): value for name, value in message["headers"]}
                headers[b"x-request-id"] = request_id.encode()
                if b"GET" in headers.get(b"allow", b"").split(b", "):
                    headers[b"allow"] += b", HEAD"
                message = {**message, "headers": list(headers.items())}
            elif message["type"] == "http.response.body" and method == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        with structlog.contextvars.bound_contextvars(request_id=request_id):
            try:
                asked: Scope = {**scope, "method": "GET"} if method == "HEAD" else scope
                await self.app(asked, receive, send_with_id)
            except Exception:  # the answer had begun, or else it would be a problem document
                log.exception("request failed")
            log.info(
                "request",
                method=method,
                path=scope["path"][:200],
                status=status,
                ruleset=headers.get(b"gapwright-ruleset", b"").decode(),
                ms=round((time.perf_counter() - started) * 1000, 3),
            )
