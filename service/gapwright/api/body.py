"""From the body of a request to a typed request, refusing what is not strict JSON."""

from __future__ import annotations

import json
import re
import zlib
from typing import Any, TypeVar

import msgspec
from litestar import Request
from litestar.exceptions import InternalServerException
from litestar.exceptions.http_exceptions import RequestEntityTooLarge
from litestar.types import HTTPScope

from gapwright.answers import read_request
from gapwright.api.problems import ProblemError, bad_query
from gapwright.api.settings import Settings
from gapwright.calls.request import BaseRequest
from gapwright.errors import Fault

F = TypeVar("F", bound=BaseRequest)
JSON = "application/json"
_LONE_SURROGATE = re.compile(rb"\\u[dD][89a-fA-F]")
_REMEDY = "Send one JSON object, encoded in UTF-8."


async def read_body(request: Request[Any, Any, Any], settings: Settings) -> bytes:
    """Return the body of a request that is declared as JSON, decompressed. Raises ProblemError.

    Raises HTTPException (413) for more than the settings allow, compressed or decompressed.
    """
    encoding = check_declared(request.scope, encodings=("identity", "gzip"))
    try:
        body = await request.body()
    except InternalServerException:  # the framework's word for a caller who has gone
        raise malformed("The connection closed before the body ended.") from None
    return _decompressed(body, settings.most_body_bytes) if encoding == "gzip" else body


def _decompressed(body: bytes, most_bytes: int) -> bytes:
    """Return a gzip body decompressed, without ever holding more than the limit."""
    stream = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)  # 16: with the header of gzip
    try:
        plain = stream.decompress(body, most_bytes + 1)
    except zlib.error:
        raise malformed("The Content-Encoding is gzip, but the body is not gzip data.") from None
    if len(plain) > most_bytes:
        raise RequestEntityTooLarge
    if not stream.eof or stream.unused_data:
        raise malformed("The gzip data is incomplete, or extra bytes follow it.")
    return plain


def check_declared(
    scope: HTTPScope,
    media_types: tuple[str, ...] = (JSON,),
    encodings: tuple[str, ...] = ("identity",),
) -> str:
    """Return the content encoding of a body.

    Raises ProblemError for another media type or encoding than these, and for query parameters.
    """
    headers = dict(scope["headers"])
    declared, encoding = (
        headers.get(name, b"").decode("latin-1") for name in (b"content-type", b"content-encoding")
    )
    encoding = encoding.strip().lower() or "identity"
    if scope.get("query_string"):
        # else a caller who asks for the rules of a day in the query would get those of today
        name = scope["query_string"].decode("latin-1").split("=")[0].split("&")[0][:80]
        problem, remedy = "Unknown query parameter.", "Put it in the body."
        raise bad_query(Fault(path=(name,), problem=problem, remedy=remedy))
    accepted = ", ".join(encodings)
    if encoding not in encodings:
        detail = f"Expected a Content-Encoding of {accepted}; got {encoding[:80]}."
        headers_sent = {"accept-encoding": accepted}
        raise ProblemError("unsupported-media-type", detail, headers=headers_sent)
    if declared.split(";")[0].strip().lower() not in media_types:
        detail = f"Expected the Content-Type {media_types[0]}; got {declared[:80] or 'none'}."
        raise ProblemError("unsupported-media-type", detail)
    return encoding


def malformed(detail: str) -> ProblemError:
    """Return the refusal of a body that is no strict JSON."""
    return ProblemError("invalid-json", detail)


def read_typed(kind: type[F], body: bytes) -> tuple[F, bytes]:
    """Return a typed request, and the request in canonical form (RFC 8785).

    Raises ProblemError for what is no strict JSON, InvalidRequestError with every fault for what
    does not fit the type.
    """
    try:
        return read_request(kind, parse_json(body))
    except RecursionError:
        raise malformed("The body is nested too deeply.") from None


def parse_json(body: bytes) -> Any:  # noqa: ANN401 - any JSON value
    """Return a body as plain data. Raises ProblemError that says what is wrong and where."""
    if not body.strip():
        raise malformed(f"The body is empty. {_REMEDY}")
    try:
        # msgspec is the stricter one (no NaN, no lone surrogates, no BOM), and lets the last of
        # two members of one name win; the standard library finds the second one
        msgspec.json.decode(body)
        return _json.decode(body.decode())
    except UnicodeDecodeError as error:
        problem = "not UTF-8"
        if _LONE_SURROGATE.search(body):
            problem = "not JSON: \\ud800 to \\udfff is not a character on its own"
        elif error.object == body:
            problem += f" from byte {error.start} on"
    except msgspec.DecodeError as error:
        problem = str(error).removeprefix("JSON is malformed: ").split(" - at ")[0].rstrip(".")
        if _LONE_SURROGATE.search(body):
            problem = "\\ud800 to \\udfff is not a character on its own"
        problem = f"not JSON: {problem}"
    except RecursionError:
        raise malformed("The body is nested too deeply. Flatten it.") from None
    except ValueError as error:
        problem = f"not JSON: {error}"
    raise malformed(f"The body is {problem}. {_REMEDY}")


def _unique_members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return the members of an object. Raises ProblemError where a name occurs twice."""
    members = dict(pairs)
    if len(members) < len(pairs):
        names = set[str]()
        for name, _ in pairs:
            if name in names:
                raise malformed(f"Duplicate field {name[:80]!r} in one object.")
            names.add(name)
    return members


_json = json.JSONDecoder(object_pairs_hook=_unique_members)
