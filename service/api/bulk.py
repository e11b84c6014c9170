"""Many quotes in one call: JSON Lines in and out, answered one after the other as they arrive.

Memory does not grow with the number of lines: a line is read when the one before is answered, and
the answer is handed on before the next is begun. When the caller goes, no further part of the body
is asked for. A caller must read while it writes: what it does not take in holds up what it sends.
"""

from __future__ import annotations

import asyncio
import contextlib

import msgspec
import structlog
from litestar import asgi
from litestar.handlers import ASGIRouteHandler
from litestar.types import Receive, Scope, Send

from service.api.desk import Desk
from service.api.intake import Intake
from service.api.lines import ClosedError, lines
from service.api.problems import ProblemError, problem
from service.api.respond import refused, send_reply
from service.api.routes import check_request
from service.calls.computing import BY_NAME, Call

log: structlog.stdlib.BoundLogger = structlog.get_logger()

JSON_LINES = (b"application/jsonl", b"application/x-ndjson")
MOST_LINES = 100_000
"""Lines that are answered in one call; those beyond are told once, and not answered."""


def bulk_route(desk: Desk) -> ASGIRouteHandler:
    """Return the route that quotes a job for each line of its body."""
    call = BY_NAME["quote"]
    intake = Intake(call.form)

    @asgi("/v1/quotes", name="/v1/quotes", copy_scope=False)
    async def quotes(scope: Scope, receive: Receive, send: Send) -> None:
        try:
            check_request(scope, JSON_LINES)  # type: ignore[arg-type]
        except ProblemError as error:
            error.under = error.under or desk.default_imprint()
            await send_reply(send, refused(error))
            return
        headers = [(b"content-type", JSON_LINES[0]), (b"cache-control", b"no-store")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        stream = _Stream(desk, call, intake, receive)
        with contextlib.suppress(ClosedError, OSError):
            await stream.answer_all(send)

    return quotes


class _Stream:
    """One call: its lines, and whether the caller is still there."""

    def __init__(self, desk: Desk, call: Call, intake: Intake, receive: Receive) -> None:  # type: ignore[type-arg]
        self._desk = desk
        self._call = call
        self._intake = intake
        self._receive = receive

    async def answer_all(self, send: Send) -> None:
        """Answer each line, and end the body. Raises ClosedError when the caller has gone."""
        most = self._desk.settings.most_body_bytes
        count = 0
        async for number, line in lines(self._receive, most):
            count += 1
            if count > MOST_LINES:
                told = f"Send at most {MOST_LINES} lines in one call; this one and those after it"
                error = ProblemError("body-too-large", f"{told} are not answered.")
                await self._send(send, _refused_line(number, error))
                break
            await self._send(send, await self._answered(number, line, most))
        await send({"type": "http.response.body", "body": b"", "more_body": False})

    async def _answered(self, number: int, line: bytes | None, most: int) -> bytes:
        """Return the line that answers a line; nothing that goes wrong stops the next one."""
        if line is None:
            error = ProblemError("body-too-large", f"Send at most {most} bytes.")
            return _refused_line(number, error)
        try:
            answer, _ = await self._desk.answer(self._call, self._intake, line)
        except ProblemError as error:
            error.under = error.under or self._desk.default_imprint()
            return _refused_line(number, error)
        except Exception:
            log.exception("line failed", line=number)
            detail = "The log has the cause under the number of the line."
            return _refused_line(number, ProblemError("internal-error", detail))
        return b'{"line":%d,"status":200,"answer":%b}\n' % (number, answer)

    async def _send(self, send: Send, body: bytes) -> None:
        await send({"type": "http.response.body", "body": body, "more_body": True})
        await asyncio.sleep(0)  # lets other requests in, and a closed connection be noticed


def _refused_line(number: int, error: ProblemError) -> bytes:
    told = msgspec.json.encode(problem(error))
    return b'{"line":%d,"status":%d,"problem":%b}\n' % (number, error.kind.status, told)
