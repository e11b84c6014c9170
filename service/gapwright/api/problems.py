"""Refusals as problem documents (RFC 9457): every fault with a JSON pointer and a remedy."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
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
    """One fault of a request: where it is (RFC 6901), and what to do about it."""

    pointer: str
    """JSON pointer (RFC 6901) to the fault in the request."""
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
    ("invalid-json", 400, "The body is not strict JSON",
     "The body is no JSON, not UTF-8, nested too deep, or names a member twice."),
    ("invalid-request", 422, "The request cannot be used",
     "Fields are missing, unknown, or contradictory; `errors` lists all of them."),
    ("crew-sheet-unavailable", 422, "No crew can be sent to this job",
     "The job is unsuitable, or no stocked strip is wide enough; a sheet for the roof"
     " would be dangerous. `errors` gives each reason, and what would change it."),
]
for _noun, _verb in (("rule set", "answered"), ("price book", "quoted")):
    _slug = _noun.replace(" ", "")
    _KINDS += [
        (f"{_slug}-not-found", 404, f"There is no such {_noun}",
         f"No {_noun} has that name or version, or none is in force that day."),
        (f"{_slug}-withdrawn", 409, f"The {_noun} was withdrawn",
         f"The version can be looked at and replayed; nothing new is {_verb} under it."),
        (f"{_slug}-unavailable", 503, f"The {_noun} cannot be used",
         "Its file is at fault, or is not what was published under that version."),
    ]
_KINDS += [
    ("not-found", 404, "There is nothing at this address",
     "The path is not one of this service's."),
    ("method-not-allowed", 405, "The method is not allowed here",
     "The path does not take this method; the Allow header lists those it takes."),
    ("payload-too-large", 413, "The body is too large",
     "The body has more bytes than the service reads."),
    ("unsupported-media-type", 415, "The body is not declared as plain JSON",
     "The Content-Type is not application/json, or there is a Content-Encoding."),
    ("not-ready", 503, "The service is not ready",
     "The default rule set cannot be served; the readiness answer says why."),
    ("internal-server-error", 500, "The service failed",
     "A fault of the service, not of the request; the log has it by request id."),
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
        detail = f"{count} things are wrong with it."
        if count == 1:
            detail = "One thing is wrong with it."
        elif count >= MOST_FAULTS:
            detail = f"These are the first {count} things that are wrong with it."
        raise ProblemError("invalid-request", detail, error.faults, rules) from None


def bad_query(*faults: Fault) -> ProblemError:
    """Return the refusal of query parameters."""
    return ProblemError("invalid-request", "The query cannot be used.", faults)


def problem(error: ProblemError, rules: RuleSet | None = None) -> Problem:
    """Return a refusal as a problem document; where it knows no rule set it names `rules`."""
    rules = error.rules or rules
    return Problem(
        type=f"/problems/{error.kind.name}",
        title=error.kind.title,
        status=error.kind.status,
        detail=error.detail,
        errors=tuple(PointedError(pointer=f.pointer, detail=f.detail) for f in error.faults),
        ruleset=ruleset_head(rules) if rules else None,
    )


def problem_response(error: ProblemError, rules: RuleSet | None) -> Response[bytes]:
    """Return the response of a refusal; where it knows no rule set it names `rules`."""
    return Response(
        msgspec.json.encode(problem(error, rules)),
        status_code=error.kind.status,
        media_type=MEDIA_TYPE,
        headers={**answer_headers(error.rules or rules), **error.headers},
    )


def exception_handlers(
    default_rules: Callable[[], RuleSet | None], most_body_bytes: int
) -> dict[Any, Any]:
    """Return handlers that turn every exception into a problem document."""

    def translate(request: Request[Any, Any, Any], error: Exception) -> ProblemError:
        status = error.status_code if isinstance(error, HTTPException) else 500
        if isinstance(error, ProblemError):
            return error
        if status == 404:
            return ProblemError("not-found", "See /docs for what there is.")
        if isinstance(error, MethodNotAllowedException):
            (allowed,) = (error.headers or {}).values()
            allow = ", ".join(sorted(allowed.split(", ")))  # the framework has them in a set
            detail = f"This address takes {allow}."
            return ProblemError("method-not-allowed", detail, headers={"allow": allow})
        if status == 413:
            return ProblemError("payload-too-large", f"Send at most {most_body_bytes} bytes.")
        if status < 500:
            return ProblemError("invalid-json", error.detail)  # type: ignore[attr-defined]
        log.error("request failed", exc_info=error, path=request.url.path)
        return ProblemError("internal-server-error", "The log has the cause under the request id.")

    def handle(request: Request[Any, Any, Any], error: Exception) -> Response[bytes]:
        refusal = translate(request, error)
        # what failed may be the rules
        failed = refusal.kind.name == "internal-server-error"
        return problem_response(refusal, None if failed else default_rules())

    return {HTTPException: handle, Exception: handle}
