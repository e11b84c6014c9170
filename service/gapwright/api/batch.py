"""A batch of quotes: JSON Lines in and out, answered one after the other as they arrive.

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
from gapwright.api.problems import Problem, ProblemError, problem
from gapwright.calls.quote_request import Line
from gapwright.calls.registry import BY_NAME

log: structlog.stdlib.BoundLogger = structlog.get_logger()

JSON_LINES = ("application/jsonl", "application/x-ndjson")
MOST_LINES = 100_000
"""Lines that are answered in one call; the first one beyond is refused, and ends the answer."""
_POST_ONLY = "Allowed here: POST."
_OPERATION = Operation(
    id="quote_batch",
    tag="Jobs",
    summary="Quote many jobs at once, as JSON Lines",
    description="Each line of the request is one job and gets one line of JSON in the response, in"
    " the same order: `line` (its number, from 1), `reference` (the job's own, if it has one),"
    " `status`, and `answer` (a QuoteEnvelope) or `problem` (a Problem). Blank lines are skipped."
    " Read the response while you send the request."
    f" At most {MOST_LINES} lines in one call.",
    request_description="JSON Lines in UTF-8: each line is a QuoteRequest. The media types"
    " application/jsonl and application/x-ndjson are also accepted.",
    answer_media_types=JSON_LINES[:1],
    answer_description="JSON Lines in UTF-8: one line for each line of the request.",
    refusals=(415, 422, 500),
)

Reference = Line | msgspec.UnsetType


class BatchAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The answer to one line: `answer` where `status` is 200, otherwise `problem`."""

    line: int
    reference: Reference = msgspec.UNSET
    status: int
    answer: msgspec.Raw | msgspec.UnsetType = msgspec.UNSET
    problem: Problem | msgspec.UnsetType = msgspec.UNSET


class ClientGoneError(Exception):
    """The caller has gone."""


def batch_route(catalogs: Catalogs) -> ASGIRouteHandler:
    """Return the route that quotes a job for each line of its body."""

    @asgi("/v1/quote/batch", copy_scope=False, opt={"operation": _OPERATION, "streamed": True})
    async def quote_batch(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await send({"type": "websocket.close", "code": 1002, "reason": _POST_ONLY})
            return
        if scope["method"] != "POST":
            raise ProblemError("method-not-allowed", _POST_ONLY, headers={"allow": "POST"})
        check_declared(scope, (*JSON_LINES, BYTES))
        media_type = answer_media_type(scope, JSON_LINES[0])
        headers = [(b"content-type", media_type.encode()), (b"cache-control", b"no-store")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        with contextlib.suppress(ClientGoneError, OSError):
            async for body in _answers(receive, catalogs):
                await send({"type": "http.response.body", "body": body, "more_body": True})
                await asyncio.sleep(0)  # lets other requests in, and a closed connection be noticed
            await send({"type": "http.response.body", "body": b"", "more_body": False})

    return quote_batch


async def _answers(receive: Receive, catalogs: Catalogs) -> AsyncIterator[bytes]:
    count = 0
    async for number, line in lines(receive, catalogs.settings.most_body_bytes):
        count += 1
        if count > MOST_LINES:
            detail = (
                f"Send at most {MOST_LINES} lines in one call. This line and those after it were"
                " not processed."
            )
            yield _refused(number, msgspec.UNSET, ProblemError("payload-too-large", detail))
            return
        yield await _answered(number, line, catalogs)


async def _answered(number: int, line: bytes | None, catalogs: Catalogs) -> bytes:
    """Return the line that answers a line; nothing that goes wrong stops the next one."""
    reference = msgspec.UNSET if line is None else _reference(line)
    try:
        if line is None:
            most = catalogs.settings.most_body_bytes
            raise ProblemError("payload-too-large", f"Send at most {most} bytes.")
        content, _ = await answer(BY_NAME["quote"], catalogs, line)
    except ProblemError as error:
        return _refused(number, reference, error)
    except Exception:
        log.exception("line failed", line=number)
        detail = "See the server log for the cause, under this line number."
        return _refused(number, reference, ProblemError("internal-server-error", detail))
    raw = msgspec.Raw(content)
    return _encode(BatchAnswer(line=number, reference=reference, status=200, answer=raw))


class _Heading(msgspec.Struct):
    reference: Reference = msgspec.UNSET


class _HeadedLine(msgspec.Struct):
    job: _Heading = msgspec.field(default_factory=_Heading)


def _reference(line: bytes) -> Reference:
    """Return the `job.reference` of a line, unset if it has none that can be read."""
    try:
        return msgspec.json.decode(line, type=_HeadedLine).job.reference
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return msgspec.UNSET


def _refused(number: int, reference: Reference, error: ProblemError) -> bytes:
    status, document = error.kind.status, problem(error)
    return _encode(BatchAnswer(line=number, reference=reference, status=status, problem=document))


def _encode(found: BatchAnswer) -> bytes:
    return msgspec.json.encode(found) + b"\n"


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
