"""From the body of a request to its form, refusing what is not strict JSON."""

from __future__ import annotations

import json
import re
from typing import Any, Generic, TypeVar

import msgspec
from litestar import Request
from litestar.exceptions import InternalServerException
from litestar.types import HTTPScope

from service.api.problems import ProblemError, bad_query, refusing
from service.calls.forms import Form
from service.canonical import canonical_request
from service.errors import BadInputError, Fault, GapwrightError
from service.quantity.kinds import decode
from service.strict import convert, faults, whole

F = TypeVar("F", bound=Form)
JSON = "application/json"
_LONE_SURROGATE = re.compile(rb"\\u[dD][89a-fA-F]")
_REMEDY = "Send one JSON object, encoded in UTF-8."


class MalformedBodyError(GapwrightError):
    """A body that is not strict JSON; the message says why."""


async def read_body(request: Request[Any, Any, Any]) -> bytes:
    """Return the body of a request that is declared as JSON. Raises ProblemError.

    The framework raises HTTPException (413) where it is longer than the settings allow.
    """
    check_declared(request.scope)
    try:
        return await request.body()
    except InternalServerException:  # the framework's word for a caller who has gone
        detail = "The connection closed before the body ended."
        raise ProblemError("malformed-body", detail) from None


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
        headers_ = {"accept-encoding": "identity"}
        raise ProblemError("unsupported-media-type", detail, headers=headers_)
    if declared.split(";")[0].strip().lower() not in media_types:
        detail = f"The Content-Type says {declared[:80] or 'nothing'}. Send {media_types[0]}."
        raise ProblemError("unsupported-media-type", detail)


class BodyReader(Generic[F]):
    """Reads the bodies of one kind of request."""

    def __init__(self, form: type[F]) -> None:
        self._form = form

    def parse(self, body: bytes) -> tuple[F, bytes]:
        """Return the form of a request, and the request in canonical form. Raises ProblemError."""
        try:
            with refusing():
                return self.read(body)
        except MalformedBodyError as error:
            raise ProblemError("malformed-body", str(error)) from None

    def read(self, body: bytes) -> tuple[F, bytes]:
        """Return the form of a request, and the request in canonical form.

        Raises MalformedBodyError for what is no strict JSON, BadInputError with every fault for
        what does not fit the form.
        """
        data = parse_json(body)
        try:
            form = msgspec.convert(data, self._form, strict=True, dec_hook=decode)
        except (msgspec.ValidationError, ValueError, RecursionError):
            try:
                data = whole(data)
                form = self._read_with_all_faults(data)
            except RecursionError:
                raise MalformedBodyError("The body is nested too deep. Flatten it.") from None
        if found := form.faults():
            raise BadInputError(found)
        return form, canonical_request(data)

    def _read_with_all_faults(self, data: Any) -> F:  # noqa: ANN401 - any JSON value
        """Return the form where only whole numbers were written with a point (`4.0`).

        Raises BadInputError with every fault otherwise, also those between members.
        """
        found = faults(data, self._form)
        between = self._form.missing(data) if isinstance(data, dict) else []
        known = {fault.pointer for fault in found}
        found += [fault for fault in between if fault.pointer not in known]
        if found:
            raise BadInputError(found)
        return convert(data, self._form)


def parse_json(body: bytes) -> Any:  # noqa: ANN401 - any JSON value
    """Return a body as plain data. Raises MalformedBodyError that says what is wrong and where."""
    if not body.strip():
        raise MalformedBodyError(f"The body is empty. {_REMEDY}")
    try:
        # msgspec is the stricter one (no NaN, no lone surrogates, no BOM), and lets the last of
        # two members of one name win; the standard library finds the second one
        msgspec.json.decode(body)
        return _json.decode(body.decode())
    except UnicodeDecodeError:
        problem = f"The body is not UTF-8{_place(body)}."
        if _LONE_SURROGATE.search(body):
            problem = "The body is not JSON: \\ud800 to \\udfff is no character on its own."
        raise MalformedBodyError(f"{problem} {_REMEDY}") from None
    except msgspec.DecodeError as error:
        problem = str(error).removeprefix("JSON is malformed: ").split(" - at ")[0].rstrip(".")
        if _LONE_SURROGATE.search(body):
            problem = "\\ud800 to \\udfff is no character on its own"
        raise MalformedBodyError(f"The body is not JSON: {problem}. {_REMEDY}") from None
    except RecursionError:
        raise MalformedBodyError("The body is nested too deep. Flatten it.") from None
    except ValueError as error:
        raise MalformedBodyError(f"The body is not JSON: {error}. {_REMEDY}") from None


def _unique_members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return the members of an object. Raises MalformedBodyError where a name stands twice."""
    members: dict[str, Any] = {}
    for name, value in pairs:
        if name in members:
            problem = f"The member {name[:80]!r} stands twice in one object."
            raise MalformedBodyError(f"{problem} Give each member once.")
        members[name] = value
    return members


_json = json.JSONDecoder(object_pairs_hook=_unique_members)


def _place(body: bytes) -> str:
    """Return where a body stops being UTF-8, as words."""
    try:
        body.decode()
    except UnicodeDecodeError as error:
        return f" from byte {error.start} on"
    return ""
