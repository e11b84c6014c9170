"""From the body of a request to a typed request, refusing what is not strict JSON."""

from __future__ import annotations

import json
import re
from typing import Any, TypeVar

import msgspec
from litestar import Request
from litestar.exceptions import InternalServerException
from litestar.types import HTTPScope

from gapwright.answers import read_request
from gapwright.api.problems import ProblemError, bad_query
from gapwright.calls.request import BaseRequest
from gapwright.errors import Fault

F = TypeVar("F", bound=BaseRequest)
JSON = "application/json"
_LONE_SURROGATE = re.compile(rb"\\u[dD][89a-fA-F]")
_REMEDY = "Send one JSON object, encoded in UTF-8."


async def read_body(request: Request[Any, Any, Any]) -> bytes:
    """Return the body of a request that is declared as JSON. Raises ProblemError.

    The framework raises HTTPException (413) where it is longer than the settings allow.
    """
    check_declared(request.scope)
    try:
        return await request.body()
    except InternalServerException:  # the framework's word for a caller who has gone
        raise malformed("The connection closed before the body ended.") from None


def check_declared(scope: HTTPScope, media_types: tuple[str, ...] = (JSON,)) -> None:
    """Raise ProblemError unless the body is declared as of such a type, and says all there is."""
    headers = dict(scope["headers"])
    declared, encoding = (
        headers.get(name, b"").decode("latin-1") for name in (b"content-type", b"content-encoding")
    )
    if scope.get("query_string"):
        # else a caller who asks for the rules of a day in the query would get those of today
        name = scope["query_string"].decode("latin-1").split("=")[0].split("&")[0][:80]
        problem, remedy = "There is no such query parameter.", "Say it in the body."
        raise bad_query(Fault(path=(name,), problem=problem, remedy=remedy))
    if encoding.strip().lower() not in ("", "identity"):
        detail = f"The Content-Encoding says {encoding[:80]}. Send the body as it is, without one."
        accepted = {"accept-encoding": "identity"}
        raise ProblemError("unsupported-media-type", detail, headers=accepted)
    if declared.split(";")[0].strip().lower() not in media_types:
        detail = f"The Content-Type says {declared[:80] or 'nothing'}. Send {media_types[0]}."
        raise ProblemError("unsupported-media-type", detail)


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
        raise malformed("The body is nested too deep. Flatten it.") from None


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
            problem = "not JSON: \\ud800 to \\udfff is no character on its own"
        elif error.object == body:
            problem += f" from byte {error.start} on"
    except msgspec.DecodeError as error:
        problem = str(error).removeprefix("JSON is malformed: ").split(" - at ")[0].rstrip(".")
        if _LONE_SURROGATE.search(body):
            problem = "\\ud800 to \\udfff is no character on its own"
        problem = f"not JSON: {problem}"
    except RecursionError:
        raise malformed("The body is nested too deep. Flatten it.") from None
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
                problem = f"The member {name[:80]!r} stands twice in one object."
                raise malformed(f"{problem} Give each member once.")
            names.add(name)
    return members


_json = json.JSONDecoder(object_pairs_hook=_unique_members)
