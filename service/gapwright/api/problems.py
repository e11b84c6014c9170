"""Errors as problem documents (RFC 9457): every fault with a JSON Pointer and a remedy."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import msgspec
import structlog
from litestar import Request, Response
from litestar.exceptions import HTTPException, MethodNotAllowedException

from gapwright.answers import RulesetHead, ruleset_head
from gapwright.api.envelope import answer_headers
from gapwright.errors import CrewSheetUnavailableError, Fault, InvalidRequestError
from gapwright.rulesets.ruleset import RuleSet
from gapwright.strict import MOST_FAULTS

MEDIA_TYPE = "application/problem+json"

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class PointedError(msgspec.Struct, frozen=True, kw_only=True):
    """One fault of a request: where it is (JSON Pointer, RFC 6901), and how to fix it."""

    pointer: str
    """JSON Pointer (RFC 6901) to the fault in the request."""
    detail: str
    """What is wrong, and what to write instead."""


class Problem(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A problem document."""

    type: str
    """The kind of problem, as a relative URL with a description."""
    title: str
    """The kind of problem in a few words."""
    status: int
    """The HTTP status."""
    detail: str
    """What is wrong in this request."""
    errors: tuple[PointedError, ...] = ()
    """Every fault of the request. Left out if there are none."""
    ruleset: RulesetHead | None = None
    """The rule set of the request. Left out if none is known."""


class Kind(msgspec.Struct, frozen=True):
    """A kind of problem: its name (the end of its type), status and title."""

    name: str
    status: int
    title: str
    description: str


# fmt: off
_KINDS = [
    ("invalid-json", 400, "Invalid JSON",
     "The body is not JSON, not UTF-8, nested too deeply, or has a duplicate field."),
    ("invalid-request", 422, "Invalid request",
     "Fields are missing, unknown, invalid, or contradictory. `errors` lists all of them."),
    ("crew-sheet-unavailable", 422, "Crew sheet unavailable",
     "The job is unsuitable, or no stock strip is wide enough. `errors` lists each reason"
     " and what would change it."),
]
for _noun, _answers in (("rule set", "answer uses"), ("price book", "quote uses")):
    _slug = _noun.replace(" ", "")
    _KINDS += [
        (f"{_slug}-not-found", 404, f"{_noun.capitalize()} not found",
         f"No {_noun} has this name or version, or none is in effect on this date."),
        (f"{_slug}-withdrawn", 409, f"{_noun.capitalize()} withdrawn",
         f"This version can be read, but no new {_answers} it."),
        (f"{_slug}-unavailable", 503, f"{_noun.capitalize()} unavailable",
         "Its file has errors, or differs from what was published under this version."),
    ]
_KINDS += [
    ("not-found", 404, "Not found",
     "This service has no such path."),
    ("method-not-allowed", 405, "Method not allowed",
     "The Allow header lists the methods of this path."),
    ("not-acceptable", 406, "Not acceptable",
     "The Accept header allows none of the media types that this path returns."),
    ("payload-too-large", 413, "Payload too large",
     "The body is larger than this service accepts."),
    ("unsupported-media-type", 415, "Unsupported media type",
     "The Content-Type is not one that this path accepts, or the Content-Encoding is unknown."),
    ("not-ready", 503, "Service not ready",
     "The default rule set is unavailable. /readyz says why."),
    ("internal-server-error", 500, "Internal server error",
     "The service failed; the request did not cause it. The log has the cause by request ID."),
]
# fmt: on
KINDS = {kind[0]: Kind(*kind) for kind in _KINDS}


class ProblemError(Exception):
    """A refusal on its way to the caller; `rules` is what the request was to be answered under."""

    def __init__(
        self,
        kind: str,
        detail: str,
        faults: Sequence[Fault] = (),
        rules: RuleSet | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.kind = KINDS[kind]
        self.detail = detail
        self.faults = tuple(faults)
        self.rules = rules
        self.headers = headers or {}


@contextmanager
def refusing(rules: RuleSet | None = None) -> Iterator[None]:
    """Raise ProblemError, with every fault, for input that cannot be used under a rule set."""
    try:
        yield
    except CrewSheetUnavailableError as error:
        detail = " ".join(fault.detail for fault in error.faults)
        raise ProblemError("crew-sheet-unavailable", detail, error.faults, rules) from None
    except InvalidRequestError as error:
        count = len(error.faults)
        detail = f"{count} validation error{'s' * (count > 1)}."
        if count >= MOST_FAULTS:
            detail = f"The first {count} validation errors."
        raise ProblemError("invalid-request", detail, error.faults, rules) from None


def bad_query(*faults: Fault) -> ProblemError:
    """Return the refusal of query parameters."""
    return ProblemError("invalid-request", "Invalid query parameters.", faults)


def problem(error: ProblemError) -> Problem:
    """Return an error as a problem document."""
    return Problem(
        type=f"/problems/{error.kind.name}",
        title=error.kind.title,
        status=error.kind.status,
        detail=error.detail,
        errors=tuple(PointedError(pointer=f.pointer, detail=f.detail) for f in error.faults),
        ruleset=ruleset_head(error.rules) if error.rules else None,
    )


def problem_response(error: ProblemError) -> Response[bytes]:
    """Return the response of an error."""
    return Response(
        msgspec.json.encode(problem(error)),
        status_code=error.kind.status,
        media_type=MEDIA_TYPE,
        headers={**answer_headers(error.rules), **error.headers},
    )


def exception_handlers(most_body_bytes: int) -> dict[Any, Any]:
    """Return handlers that turn every exception into a problem document."""

    def translate(request: Request[Any, Any, Any], error: Exception) -> ProblemError:
        status = error.status_code if isinstance(error, HTTPException) else 500
        if isinstance(error, ProblemError):
            return error
        if status == 404:
            return ProblemError("not-found", "See /docs for the paths.")
        if isinstance(error, MethodNotAllowedException):
            (allowed,) = (error.headers or {}).values()
            allow = ", ".join(sorted(allowed.split(", ")))  # the framework has them in a set
            detail = f"Allowed here: {allow}."
            return ProblemError("method-not-allowed", detail, headers={"allow": allow})
        if status == 413:
            return ProblemError("payload-too-large", f"Send at most {most_body_bytes} bytes.")
        if status < 500:
            return ProblemError("invalid-json", error.detail)  # type: ignore[attr-defined]
        log.error("request failed", exc_info=error, path=request.url.path)
        return ProblemError("internal-server-error", "The log has the cause by request ID.")

    def handle(request: Request[Any, Any, Any], error: Exception) -> Response[bytes]:
        return problem_response(translate(request, error))

    return {HTTPException: handle, Exception: handle}
