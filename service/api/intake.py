"""From the bytes of a request to its form, refusing what is not strict JSON."""

from __future__ import annotations

import json
import re
from typing import Any, Generic, TypeVar

import msgspec

from service.calls.forms import Form
from service.canonical import canonical_request
from service.errors import BadInputError, GapwrightError
from service.quantity.kinds import decode
from service.strict import convert, faults, whole

F = TypeVar("F", bound=Form)
_HALF = re.compile(rb"\\u[dD][89a-fA-F]")
_REMEDY = "Send one JSON object, encoded in UTF-8."


class MalformedBodyError(GapwrightError):
    """A body that is not strict JSON; the message says why."""


class _RepeatedNameError(Exception):
    """A JSON object names a member twice."""


class Intake(Generic[F]):
    """Reads the bodies of one kind of request."""

    def __init__(self, form: type[F]) -> None:
        self._form = form
        self._decoder = msgspec.json.Decoder(form, strict=True, dec_hook=decode)

    def read(self, body: bytes) -> tuple[F, bytes]:
        """Return the form of a request, and the request in canonical form.

        Raises MalformedBodyError for what is no strict JSON, BadInputError with every fault for
        what does not fit the form.
        """
        try:
            form = self._decoder.decode(body)
        except (msgspec.DecodeError, ValueError, RecursionError):
            return self._second_look(plain(body))
        told = _canonical(body)
        found = form.faults()
        if found:
            raise BadInputError(found)
        return form, told

    def _second_look(self, raw: Any) -> tuple[F, bytes]:  # noqa: ANN401
        try:
            return self._read_again(raw)
        except RecursionError:
            raise MalformedBodyError("The body is nested too deep. Flatten it.") from None

    def _read_again(self, raw: Any) -> tuple[F, bytes]:  # noqa: ANN401 - any JSON value
        """Return the form where only whole numbers were written with a point (`4.0`).

        Raises BadInputError with every fault otherwise, also those between members.
        """
        raw = whole(raw)
        found = faults(raw, self._form)
        between = self._form.missing(raw) if isinstance(raw, dict) else []
        told = {fault.pointer for fault in found}
        found += [fault for fault in between if fault.pointer not in told]
        if found:
            raise BadInputError(found)
        form = convert(raw, self._form)
        if later := form.faults():
            raise BadInputError(later)
        return form, canonical_request(raw)


def plain(body: bytes) -> Any:  # noqa: ANN401 - any JSON value
    """Return a body as plain data. Raises MalformedBodyError that says what is wrong and where."""
    if not body.strip():
        raise MalformedBodyError(f"The body is empty. {_REMEDY}")
    try:
        msgspec.json.decode(body)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        if _HALF.search(body):
            problem = "The body is not JSON: \\ud800 to \\udfff is no character on its own."
            raise MalformedBodyError(f"{problem} {_REMEDY}") from None
        if isinstance(error, UnicodeDecodeError):
            raise MalformedBodyError(f"The body is not UTF-8{_place(body)}. {_REMEDY}") from None
        raise MalformedBodyError(f"The body is not JSON: {_said(error)}. {_REMEDY}") from None
    except RecursionError:
        raise MalformedBodyError("The body is nested too deep. Flatten it.") from None
    except ValueError as error:
        raise MalformedBodyError(f"The body is not JSON: {error}. {_REMEDY}") from None
    return _loads(body)


def _canonical(body: bytes) -> bytes:
    """Return a body that is JSON in canonical form, unless an object names a member twice.

    Without escapes each text takes two quotes, and a member that is dropped takes its name along:
    where as many quotes come out as went in, none was. The slow way looks at the others.
    """
    if b"\\" not in body:
        told = canonical_request(msgspec.json.decode(body))
        if told.count(b'"') == body.count(b'"'):
            return told
    return canonical_request(_loads(body))


def _loads(body: bytes) -> Any:  # noqa: ANN401 - any JSON value
    """Return a body that is JSON as plain data, unless an object names a member twice."""
    try:
        return _json.decode(body.decode())
    except _RepeatedNameError as error:
        raise MalformedBodyError(f"{error} Give each member once.") from None
    except RecursionError:
        raise MalformedBodyError("The body is nested too deep. Flatten it.") from None
    except ValueError as error:
        raise MalformedBodyError(f"The body is not JSON: {error}. {_REMEDY}") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]
        raise _RepeatedNameError(f"The member {twice[:80]!r} stands twice in one object.")
    return found


_json = json.JSONDecoder(object_pairs_hook=_once)


def _place(body: bytes) -> str:
    """Return where a body stops being UTF-8, as words."""
    try:
        body.decode()
    except UnicodeDecodeError as error:
        return f" from byte {error.start} on"
    return ""


def _said(error: Exception) -> str:
    said = str(error).removeprefix("JSON is malformed: ").split(" - at ")[0]
    return said.rstrip(".")
