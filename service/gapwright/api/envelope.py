"""The envelope of every computed answer: whose rules, the result, cautions and receipt."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Generic, TypeVar

import msgspec
from litestar import Response

from gapwright.calc.conditions import cautions
from gapwright.calls.request import Computed
from gapwright.canonical import digest
from gapwright.quantity.output import encode
from gapwright.quantity.show import System
from gapwright.rulesets.explanation import Explanation, explanation
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.vocabulary import Severity
from gapwright.version import ENGINE

R = TypeVar("R")


class RulesetHead(msgspec.Struct, frozen=True, kw_only=True):
    """Which rule set an answer follows, and the digest of its content."""

    id: str
    version: str
    digest: str
    effective: date


class CautionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """A caution; the severity is a signal word, from danger down to notice."""

    id: str
    severity: Severity
    text: str
    source: str


class Receipt(msgspec.Struct, frozen=True, kw_only=True):
    """Digests of the request and of the result, each in canonical form (RFC 8785).

    The result stands in the answer in that form already.
    """

    request: str
    result: str


class Envelope(msgspec.Struct, Generic[R], frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An answer, with all that a reader needs to check it."""

    ruleset: RulesetHead
    engine: Annotated[str, msgspec.Meta(description="The version of the service's engine.")]
    result: R
    cautions: tuple[CautionAnswer, ...]
    explanation: Annotated[
        Explanation | msgspec.UnsetType,
        msgspec.Meta(
            description="Which rules each figure was computed from; only where the request says"
            " `explain`."
        ),
    ] = msgspec.UNSET
    receipt: Receipt


def encode_envelope(request: bytes, computed: Computed, system: System, rules: RuleSet) -> bytes:
    """Return the JSON answer to a request, which is given in canonical form."""
    # encoded by itself first: the receipt digests the very bytes that stand in the answer
    result = encode(computed.result, system)
    envelope = Envelope(
        ruleset=ruleset_head(rules),
        engine=ENGINE,
        result=msgspec.Raw(result),
        cautions=tuple(
            CautionAnswer(id=c.id, severity=c.severity, text=c.text, source=c.source)
            for c in cautions(computed.facts, rules)
        ),
        explanation=explanation(rules) if rules.recorder else msgspec.UNSET,
        receipt=Receipt(request=digest(request).decode(), result=digest(result).decode()),
    )
    return msgspec.json.encode(envelope)


def ruleset_head(rules: RuleSet) -> RulesetHead:
    """Return how answers and refusals name a rule set."""
    return RulesetHead(
        id=rules.id, version=rules.version, digest=rules.digest, effective=rules.effective
    )


def answer_headers(rules: RuleSet | None = None) -> dict[str, str]:
    """Return the headers of an answer or refusal, which no cache may keep."""
    if rules is None:
        return {"cache-control": "no-store"}
    return {
        "cache-control": "no-store",
        "gapwright-ruleset": rules.name,
        "gapwright-ruleset-digest": rules.digest,
    }


def json_response(content: msgspec.Struct, headers: dict[str, str]) -> Response[bytes]:
    """Return a struct as a JSON response."""
    encoded = msgspec.json.encode(content)
    return Response(encoded, media_type="application/json", headers=headers)
