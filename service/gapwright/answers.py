"""From a request to its answer: read it, compute it, and put the result in its envelope.

The HTTP service and `Engine` both answer with the functions here.
"""

from __future__ import annotations

from datetime import date
from typing import Any, Generic, TypeVar

import msgspec

from gapwright.calc.conditions import cautions
from gapwright.calls.registry import Call
from gapwright.calls.request import BaseRequest, Computed
from gapwright.canonical import canonical_request, digest
from gapwright.errors import InvalidRequestError
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.quantity.kinds import decode
from gapwright.quantity.output import encode
from gapwright.rulesets.explanation import Explanation, explanation
from gapwright.rulesets.recording import recording
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.vocabulary import Severity
from gapwright.strict import convert, faults, integers
from gapwright.version import ENGINE

F = TypeVar("F", bound=BaseRequest)
R = TypeVar("R")


class RulesetHead(msgspec.Struct, frozen=True, kw_only=True):
    """Which rule set an answer follows, and the digest of its content."""

    id: str
    """The id of the rule set."""
    version: str
    """Its version."""
    digest: str
    """The digest of its content: `sha256:` and 64 hexadecimal digits."""
    effective: date
    """The first day on which it is in effect."""


class CautionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """A caution; the severity is a signal word, from danger down to notice."""

    id: str
    """The id of the caution in the rule set."""
    severity: Severity
    """The signal word."""
    text: str
    """The caution as text for people."""
    source: str
    """The source that the rule set names for it."""


class Receipt(msgspec.Struct, frozen=True, kw_only=True):
    """Digests of the request and of the result, each in canonical form (RFC 8785).

    The result is in the answer in that form already.
    """

    request: str
    """The digest of the request in canonical form."""
    result: str
    """The digest of `result` as it is in the answer."""


class Envelope(msgspec.Struct, Generic[R], frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An answer, with all that a reader needs to check it."""

    ruleset: RulesetHead
    """The rule set that the answer follows."""
    engine: str
    """The version of gapwright."""
    as_of: date
    """The day whose rules and prices the answer follows."""
    result: R
    """The result of the call."""
    cautions: tuple[CautionAnswer, ...]
    """The cautions that go with the result, the most severe first."""
    explanation: Explanation | msgspec.UnsetType = msgspec.UNSET
    """Which rules each figure was computed from; present only if the request sets `explain`."""
    receipt: Receipt
    """Digests of the request and of the result."""
    request: dict[str, Any] | msgspec.UnsetType = msgspec.UNSET
    """The request in full, with its defaults; present only if the request sets `echo`."""


def encode_answer(
    request: BaseRequest, canonical: bytes, computed: Computed, rules: RuleSet, as_of: date
) -> bytes:
    """Return the JSON answer to a request; `canonical` is the request in canonical form."""
    # encoded by itself first: the receipt digests the very bytes that the answer contains
    result = encode(computed.result, request.units or rules.units)
    envelope = Envelope(
        ruleset=ruleset_head(rules),
        engine=ENGINE,
        as_of=as_of,
        result=msgspec.Raw(result),
        cautions=tuple(
            CautionAnswer(id=c.id, severity=c.severity, text=c.text, source=c.source)
            for c in cautions(computed.facts, rules)
        ),
        explanation=explanation(rules) if rules.recorder else msgspec.UNSET,
        receipt=Receipt(request=digest(canonical).decode(), result=digest(result).decode()),
        request=full_request(request, rules, as_of) if request.echo else msgspec.UNSET,
    )
    return msgspec.json.encode(envelope)


def full_request(request: BaseRequest, rules: RuleSet, as_of: date) -> dict[str, Any]:
    """Return a request with its defaults, the version of its rule set, its units, and its date.

    Quantities are text that gives exactly the same quantity. Fields that are not given and have
    no default are left out.
    """

    def given(value: Any) -> Any:  # noqa: ANN401 - any JSON value
        if isinstance(value, dict):
            return {name: given(one) for name, one in value.items() if one is not None}
        return [given(one) for one in value] if isinstance(value, list) else value

    resolved = msgspec.structs.replace(
        request, ruleset=rules.name, as_of=as_of, units=request.units or rules.units
    )
    full: dict[str, Any] = given(msgspec.to_builtins(resolved, enc_hook=lambda one: one.written()))
    return full


def ruleset_head(rules: RuleSet) -> RulesetHead:
    """Return how answers and refusals name a rule set."""
    return RulesetHead(
        id=rules.id, version=rules.version, digest=rules.digest, effective=rules.effective
    )


def read_request(kind: type[F], data: Any) -> tuple[F, bytes]:  # noqa: ANN401 - any JSON value
    """Return a request as a struct, and in canonical form (RFC 8785).

    Raises InvalidRequestError with every fault, RecursionError where it is nested too deep.
    """
    try:
        request = msgspec.convert(data, kind, strict=True, dec_hook=decode)
    except (msgspec.ValidationError, ValueError, RecursionError):
        data = integers(data)
        request = _read_with_all_faults(kind, data)
    if found := request.faults():
        raise InvalidRequestError(found)
    return request, canonical_request(data)


def _read_with_all_faults(kind: type[F], data: Any) -> F:  # noqa: ANN401 - any JSON value
    """Return the request where its only fault was an integer with a point (`4.0`).

    Raises InvalidRequestError with every fault otherwise, also those between fields.
    """
    found = faults(data, kind)
    known = {fault.pointer for fault in found}
    if isinstance(data, dict):
        found += [fault for fault in kind.missing(data) if fault.pointer not in known]
    if found:
        raise InvalidRequestError(found)
    return convert(data, kind)


def answer(
    call: Call,
    request: BaseRequest,
    canonical: bytes,
    rules: RuleSet,
    book: PriceBook | None,
    as_of: date,
) -> bytes:
    """Return the JSON answer of one call. Raises InvalidRequestError.

    `canonical` is the request in canonical form, for the receipt; `book` is the price book that a
    priced call takes, None where the request brings its own.
    """
    used = recording(rules) if request.explain else rules
    books = (book,) if call.priced else ()
    computed = call.compute(request, used, *books)
    return encode_answer(request, canonical, computed, used, as_of)
