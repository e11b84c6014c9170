"""Refusals as problem documents (RFC 9457): every fault with a JSON pointer and a remedy."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus

import msgspec

from service.api.envelope import Imprint, RulesetHead
from service.errors import Fault

Headers = tuple[tuple[bytes, bytes], ...]
MEDIA_TYPE = "application/problem+json"


class PointedError(msgspec.Struct, frozen=True, kw_only=True):
    """One fault of a request: where it is (RFC 6901), and what to do about it."""

    pointer: str
    detail: str


class Problem(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A problem document."""

    type: str
    title: str
    status: int
    detail: str
    errors: tuple[PointedError, ...] = ()
    ruleset: RulesetHead | None = None
    """The rule set that the request was to be answered under, where one could be told."""


class Kind(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of problem: its name (the end of its type), status and title."""

    name: str
    status: int
    title: str
    means: str


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            name="malformed-body",
            status=HTTPStatus.BAD_REQUEST,
            title="The body is not strict JSON",
            means="The body is no JSON, not UTF-8, nested too deep, or names a member twice.",
        ),
        Kind(
            name="unusable-request",
            status=HTTPStatus.UNPROCESSABLE_ENTITY,
            title="The request cannot be used",
            means="Members are missing, unknown or senseless; `errors` lists all of them.",
        ),
        Kind(
            name="no-crew-sheet",
            status=HTTPStatus.UNPROCESSABLE_ENTITY,
            title="No crew can be sent to this job",
            means="The job is unsuitable, or no stocked strip is wide enough; a sheet for the roof"
            " would be dangerous. `errors` gives each reason, and what would change it.",
        ),
        Kind(
            name="no-such-ruleset",
            status=HTTPStatus.NOT_FOUND,
            title="There is no such rule set",
            means="No rule set has that name or version, or none is in force that day.",
        ),
        Kind(
            name="withdrawn-ruleset",
            status=HTTPStatus.CONFLICT,
            title="The rule set was withdrawn",
            means="The version can be looked at and replayed; nothing new is answered under it.",
        ),
        Kind(
            name="broken-ruleset",
            status=HTTPStatus.SERVICE_UNAVAILABLE,
            title="The rule set cannot be used",
            means="Its file is at fault, or is not what was published under that version.",
        ),
        Kind(
            name="no-such-pricebook",
            status=HTTPStatus.NOT_FOUND,
            title="There is no such price book",
            means="No price book has that name or version, or none is in force that day.",
        ),
        Kind(
            name="withdrawn-pricebook",
            status=HTTPStatus.CONFLICT,
            title="The price book was withdrawn",
            means="The version can be looked at and replayed; nothing new is quoted under it.",
        ),
        Kind(
            name="broken-pricebook",
            status=HTTPStatus.SERVICE_UNAVAILABLE,
            title="The price book cannot be used",
            means="Its file is at fault, or is not what was published under that version.",
        ),
        Kind(
            name="not-found",
            status=HTTPStatus.NOT_FOUND,
            title="There is nothing at this address",
            means="The path is not one of this service's.",
        ),
        Kind(
            name="method-not-allowed",
            status=HTTPStatus.METHOD_NOT_ALLOWED,
            title="The method is not allowed here",
            means="The path does not take this method; the Allow header lists those it takes.",
        ),
        Kind(
            name="body-too-large",
            status=HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
            title="The body is too large",
            means="The body has more bytes than the service reads.",
        ),
        Kind(
            name="unsupported-media-type",
            status=HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
            title="The body is not declared as plain JSON",
            means="The Content-Type is not application/json, or there is a Content-Encoding.",
        ),
        Kind(
            name="not-ready",
            status=HTTPStatus.SERVICE_UNAVAILABLE,
            title="The service is not ready",
            means="The default rule set cannot be served; the readiness answer says why.",
        ),
        Kind(
            name="internal-error",
            status=HTTPStatus.INTERNAL_SERVER_ERROR,
            title="The service failed",
            means="A fault of the service, not of the request; the log has it by request id.",
        ),
    )
}


class ProblemError(Exception):
    """A refusal on its way to the caller."""

    def __init__(
        self,
        kind: str,
        detail: str,
        faults: Sequence[Fault] = (),
        under: Imprint | None = None,
        headers: Headers = (),
    ) -> None:
        super().__init__(detail)
        self.kind = KINDS[kind]
        self.detail = detail
        self.faults = tuple(faults)
        self.under = under
        self.headers = headers


def problem(error: ProblemError) -> Problem:
    """Return a refusal as a problem document."""
    return Problem(
        type=f"/problems/{error.kind.name}",
        title=error.kind.title,
        status=error.kind.status,
        detail=error.detail,
        errors=tuple(PointedError(pointer=f.pointer, detail=f.detail) for f in error.faults),
        ruleset=error.under.head if error.under else None,
    )
