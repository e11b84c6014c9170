"""The routes of the computing calls: each hands bytes to the desk and its answer back.

They are plain ASGI handlers: on calls this short the framework's own reading of requests and
building of responses costs more than the calculation (tests/load/bench_materials.py).
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from litestar import asgi
from litestar.enums import ScopeType
from litestar.handlers import ASGIRouteHandler
from litestar.types import HTTPScope, Receive, Scope, Send

from service.api.desk import Desk
from service.api.intake import Intake
from service.api.problems import ProblemError
from service.api.respond import Reply, refused, replied, send_reply
from service.calls.computing import Call
from service.errors import Fault

JSON = b"application/json"
TAKES_POST = "This address takes POST."


Responder = Callable[[HTTPScope, Receive], Awaitable[Reply]]
"""Answers a request as a whole, also where it is refused."""


def responder(call: Call, desk: Desk) -> Responder:
    """Return what answers the requests of a computing call."""
    intake = Intake(call.form)
    most = desk.settings.most_body_bytes

    async def respond(scope: HTTPScope, receive: Receive) -> Reply:
        try:
            check_request(scope)
            body = await read_body(receive, most)
            answer, imprint = await desk.answer(call, intake, body)
        except ProblemError as error:
            error.under = error.under or desk.default_imprint()
            return refused(error)
        return replied(answer, imprint)

    return respond


def computing_route(path: str, respond: Responder) -> ASGIRouteHandler:
    """Return the route at which a responder answers."""

    @asgi(path, name=path, copy_scope=False)
    async def compute(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await send({"type": "websocket.close", "code": 1002, "reason": TAKES_POST})
            return
        await send_reply(send, await respond(scope, receive))

    return compute


def check_request(scope: HTTPScope, kinds: tuple[bytes, ...] = (JSON,)) -> None:
    """Raise ProblemError unless this is a POST whose body is declared as of such a kind."""
    if scope["method"] != "POST":
        allow = (b"allow", b"POST")
        raise ProblemError("method-not-allowed", TAKES_POST, headers=(allow,))
    check_declared(scope, kinds)


def check_declared(scope: Scope, kinds: tuple[bytes, ...] = (JSON,)) -> None:
    """Raise ProblemError unless the body is declared as of such a kind, and says all there is."""
    headers = dict(scope["headers"])
    declared, encoding = headers.get(b"content-type", b""), headers.get(b"content-encoding", b"")
    if scope.get("query_string"):
        name = scope["query_string"].decode("latin-1").split("=")[0].split("&")[0][:80]
        fault = Fault(
            path=(name,), problem="There is no such query parameter.", remedy="Say it in the body."
        )
        raise ProblemError("unusable-request", "The query cannot be used.", [fault])
    if encoding and encoding.strip().lower() not in (b"", b"identity"):
        shown = encoding[:80].decode("latin-1")
        problem = f"The Content-Encoding says {shown}. Send the body as it is, without one."
        accepted = (b"accept-encoding", b"identity")
        raise ProblemError("unsupported-media-type", problem, headers=(accepted,))
    if declared not in kinds and declared.split(b";")[0].strip().lower() not in kinds:
        shown = declared[:80].decode("latin-1") or "nothing"
        problem = f"The Content-Type says {shown}. Send {kinds[0].decode()}."
        raise ProblemError("unsupported-media-type", problem)


async def read_body(receive: Receive, most: int) -> bytes:
    """Return the body of a request. Raises ProblemError when it has more than `most` bytes."""
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            raise ProblemError("malformed-body", "The connection closed before the body ended.")
        body += message.get("body", b"")
        if len(body) > most:
            raise ProblemError("body-too-large", f"Send at most {most} bytes.")
        if not message.get("more_body"):
            return body
