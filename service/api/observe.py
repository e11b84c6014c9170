"""The outermost layer: request ids, one log line a request, and no failure without a problem."""

from __future__ import annotations

import re
import time
from collections.abc import Mapping
from random import getrandbits
from typing import Any

import structlog
from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPScope, Message, Receive, Scope, Send

from service.api.problems import ProblemError
from service.api.respond import Reply, refused
from service.api.routes import Responder

_ACCEPTED = re.compile(rb"[A-Za-z0-9._:-]{1,128}")
_RULESET = b"gapwright-ruleset"
_ALLOWING = (204, 405)
"""Answers that may say which methods an address takes."""

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class Observed:
    """An ASGI application whose requests carry an id, are logged, and never fail silently.

    A caller's `X-Request-ID` is taken over when it is short and plain, else one is made; it is
    returned, and stands in the log. Bodies and other headers are never logged.
    """

    def __init__(self, app: ASGIApp, direct: Mapping[str, Responder] | None = None) -> None:
        """Take an application, and what answers posts to some of its paths without its router."""
        self.app = app
        self._direct = direct or {}
        self._log: Any = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != ScopeType.HTTP:
            await self.app(scope, receive, send)
            return
        started = time.perf_counter()
        answer = _Answer(scope, send)
        respond = self._direct.get(scope["path"]) if answer.method == "POST" else None
        try:
            if respond is not None:
                await answer.send_whole(await respond(scope, receive))
            else:
                asked = {**scope, "method": "GET"} if answer.method == "HEAD" else scope
                await self.app(asked, receive, answer.send)
        except Exception:
            log.exception("request failed", request_id=answer.request_id.decode())
            if not answer.status:
                error = ProblemError("internal-error", "The log has it under the request id.")
                await answer.send_whole(refused(error))
        if self._log is None:  # bound once: binding takes as long as writing the line
            self._log = log.bind()
        self._log.info(
            "request",
            request_id=answer.request_id.decode(),
            method=answer.method,
            path=scope["path"][:200],
            status=answer.status,
            ruleset=answer.ruleset.decode(),
            ms=int((time.perf_counter() - started) * 1_000_000) / 1000,
        )


class _Answer:
    """One answer on its way out: it takes the request id along, and HEAD gets no body.

    HEAD is answered as GET is, less the body (RFC 9110, 9.3.2).
    """

    def __init__(self, scope: HTTPScope, send: Send) -> None:
        self.method: str = scope["method"]
        self.request_id = _request_id(scope)
        self.status = 0
        self.ruleset = b""
        self._send = send

    async def send_whole(self, reply: Reply) -> None:
        """Send the answer, all of it."""
        self.status, self.ruleset = reply.status, reply.ruleset
        await self._send(reply.start((b"x-request-id", self.request_id)))
        await self._send(reply.rest())

    async def send(self, message: Message) -> None:
        """Send one message of the answer."""
        if message["type"] == "http.response.start":
            self.status = int(message["status"])
            headers = [*message["headers"], (b"x-request-id", self.request_id)]
            if self.status in _ALLOWING:
                headers = [_headed(header) for header in headers]
            for name, value in headers:
                if name == _RULESET:
                    self.ruleset = value
                    break
            message["headers"] = headers
        elif message["type"] == "http.response.body" and self.method == "HEAD":
            message["body"] = b""
        await self._send(message)


def _headed(header: tuple[bytes, bytes]) -> tuple[bytes, bytes]:
    """Return a header; where it allows GET it allows HEAD as well."""
    name, value = header
    allowed = value.split(b", ") if name.lower() == b"allow" else []
    if b"GET" in allowed and b"HEAD" not in allowed:
        return name, b", ".join((*allowed, b"HEAD"))
    return header


def _request_id(scope: HTTPScope) -> bytes:
    told = dict(scope["headers"]).get(b"x-request-id")
    if told is not None and _ACCEPTED.fullmatch(told):
        return bytes(told)
    return b"%032x" % getrandbits(128)
