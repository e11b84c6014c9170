"""Many quotes in one call: JSON Lines in and out, answered one after the other as they arrive.

Memory does not grow with the number of lines: a line is read when the one before is answered, and
the answer is sent before the next is begun. A caller must read while it writes: what it does not
read holds up what it sends. The framework has no response that reads the body while it is sent, so
this is a plain ASGI handler.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator

import msgspec
import structlog
from litestar import asgi
from litestar.enums import ScopeType
from litestar.handlers import ASGIRouteHandler
from litestar.types import Receive, Scope, Send

from gapwright.api.body import check_declared
from gapwright.api.calls import answer
from gapwright.api.catalog import Catalogs
from gapwright.api.envelope import BYTES, answer_media_type
from gapwright.api.openapi import Operation
from gapwright.api.problems import ProblemError, problem
from gapwright.calls.registry import BY_NAME

log: structlog.stdlib.BoundLogger = structlog.get_logger()

JSON_LINES = ("application/jsonl", "application/x-ndjson")
MOST_LINES = 100_000
"""Lines that are answered in one call; the first one beyond is refused, and ends the answer."""
_TAKES_POST = "This address takes POST."
_OPERATION = Operation(
    id="quote_batch",
    tag="Jobs",
    summary="Many jobs in one call: JSON Lines in and out",
    description="Each line of the request is one job. Each is answered, in order, by a line of JSON"
    " with the members `line` (its number, from 1), `status`, and `answer` (a QuoteEnvelope) or"
    " `problem` (a Problem). Blank lines are passed over. Read while you write; at most"
    f" {MOST_LINES} lines are answered in one call.",
    request_description="JSON Lines in UTF-8: each line is a QuoteRequest. The media types"
    " application/jsonl and application/x-ndjson are accepted, too.",
    answer_media_type=JSON_LINES[0],
    answer_description="JSON Lines in UTF-8: a line of JSON for each line of the request.",
    refusals=(415, 422, 500),
)


class ClientGoneError(Exception):
    """The caller has gone."""


def batch_route(catalogs: Catalogs) -> ASGIRouteHandler:
    """Return the route that quotes a job for each line of its body."""

    @asgi("/v1/quote/batch", copy_scope=False, opt={"operation": _OPERATION})
    async def quotes(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await send({"type": "websocket.close", "code": 1002, "reason": _TAKES_POST})
            return
        if scope["method"] != "POST":
            raise ProblemError("method-not-allowed", _TAKES_POST, headers={"allow": "POST"})
        check_declared(scope, (*JSON_LINES, BYTES))
        media_type = answer_media_type(scope, JSON_LINES[0])
        headers = [(b"content-type", media_type.encode()), (b"cache-control", b"no-store")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        with contextlib.suppress(ClientGoneError, OSError):
            async for body in _answers(receive, catalogs):
                await send({"type": "http.response.body", "body": body, "more_body": True})
                await asyncio.sleep(0)  # lets other requests in, and a closed connection be noticed
            await send({"type": "http.response.body", "body": b"", "more_body": False})

    return quotes


async def _answers(receive: Receive, catalogs: Catalogs) -> AsyncIterator[bytes]:
    count = 0
    async for number, line in lines(receive, catalogs.settings.most_body_bytes):
        count += 1
        if count > MOST_LINES:
            detail = (
                f"Send at most {MOST_LINES} lines in one call; this one and those after it are not"
                " answered."
            )
            yield _refused(number, ProblemError("payload-too-large", detail), catalogs)
            return
        yield await _answered(number, line, catalogs)


async def _answered(number: int, line: bytes | None, catalogs: Catalogs) -> bytes:
    """Return the line that answers a line; nothing that goes wrong stops the next one."""
    try:
        if line is None:
            most = catalogs.settings.most_body_bytes
            raise ProblemError("payload-too-large", f"Send at most {most} bytes.")
        content, _ = await answer(BY_NAME["quote"], catalogs, line)
    except ProblemError as error:
        return _refused(number, error, catalogs)
    except Exception:
        log.exception("line failed", line=number)
        detail = "The log has the cause under the number of the line."
        return _refused(number, ProblemError("internal-server-error", detail), catalogs)
    return b'{"line":%d,"status":200,"answer":%b}\n' % (number, content)


def _refused(number: int, error: ProblemError, catalogs: Catalogs) -> bytes:
    document = problem(error, catalogs.default_rules())
    encoded = msgspec.json.encode(document)
    return b'{"line":%d,"status":%d,"problem":%b}\n' % (number, document.status, encoded)


async def lines(receive: Receive, most_bytes: int) -> AsyncIterator[tuple[int, bytes | None]]:
    """Yield each line that is not blank with its number, from 1; None for one that is too long.

    At most one line and a part of the body are in memory at a time. Raises ClientGoneError when the
    caller goes before the body has ended.
    """
    number, rest, skipping, more = 1, b"", False, True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            raise ClientGoneError
        more = message.get("more_body", False)
        *complete, rest = (rest + message.get("body", b"")).split(b"\n")
        if not more:
            complete.append(rest)
        for line in complete:
            if skipping or len(line) > most_bytes:
                yield number, None
            elif line.strip():
                yield number, line
            number, skipping = number + 1, False
        if len(rest) > most_bytes:
            rest, skipping = b"", True
