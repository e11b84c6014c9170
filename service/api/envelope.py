"""The envelope of every computed answer: whose rules, the result, cautions, trace and receipt.

What depends on the rule set alone (its head, each caution, each citation) is encoded once for each
rule set and joined in as bytes.
"""

from __future__ import annotations

from datetime import date
from typing import Any
from weakref import proxy

import msgspec

from service.calc.cautions import cautions
from service.calls.computed import Computed
from service.calls.computing import Call
from service.calls.forms import Form
from service.canonical import digest
from service.pricebooks.pricebook import PriceBook
from service.quantity.output import encode
from service.quantity.show import System
from service.rulesets.explanation import explanation
from service.rulesets.recording import recording
from service.rulesets.ruleset import RuleSet
from service.rulesets.vocabulary import Severity
from service.version import ENGINE


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


class Imprint:
    """The parts of an answer that one rule set puts into all of its answers, encoded.

    It does not keep the rule set in memory: who answers under one holds it meanwhile.
    """

    def __init__(self, rules: RuleSet) -> None:
        self._rules = proxy(rules)
        self._chosen: dict[tuple[tuple[str, Any], ...], bytes] = {}
        self._cautions = {c.id: _encoder.encode(_caution(c)) for c in rules.cautions}
        self.head = RulesetHead(
            id=rules.id, version=rules.version, digest=rules.digest, effective=rules.effective
        )
        self.opening = b'{"ruleset":%b,"engine":%b,"result":' % (
            _encoder.encode(self.head),
            _encoder.encode(ENGINE),
        )
        self.name = rules.name.encode()
        self.headers = (
            (b"gapwright-ruleset", self.name),
            (b"gapwright-ruleset-digest", rules.digest.encode()),
        )

    def cautions(self, facts: dict[str, Any]) -> bytes:
        """Return the cautions that the facts call for, encoded and joined."""
        key = tuple(facts.items())
        encoded = self._chosen.get(key)
        if encoded is None:
            encoded = b",".join([self._cautions[c.id] for c in cautions(facts, self._rules)])
            if len(self._chosen) < _MOST_KEPT:
                self._chosen[key] = encoded
        return encoded


_MOST_KEPT = 500
_encoder = msgspec.json.Encoder()


def answer(
    call: Call,
    form: Form,
    request: bytes,
    rules: RuleSet,
    imprint: Imprint,
    *books: PriceBook | None,
) -> bytes:
    """Return the encoded answer to a request; its reads are recorded if it asks for that.

    `request` is the request in canonical form. Raises BadInputError.
    """
    used = recording(rules) if form.explain else rules
    computed = call.compute(form, used, *books)
    return envelope(request, computed, form.units or rules.units, imprint, used)


def envelope(
    request: bytes, computed: Computed, system: System, imprint: Imprint, rules: RuleSet
) -> bytes:
    """Return the encoded answer to a request (in canonical form) under a rule set.

    The result stands in it in canonical form, so that anyone can digest it as it stands.
    """
    result = encode(computed.result, system)
    explained = b""
    if rules.recorder is not None:
        explained = b',"explanation":' + _encoder.encode(explanation(rules))
    return b"".join(
        (
            imprint.opening,
            result,
            b',"cautions":[',
            imprint.cautions(computed.facts),
            b"]",
            explained,
            b',"receipt":{"request":"',
            digest(request),
            b'","result":"',
            digest(result),
            b'"}}',
        )
    )


def _caution(caution: Any) -> CautionAnswer:  # noqa: ANN401
    return CautionAnswer(
        id=caution.id, severity=caution.severity, text=caution.text, source=caution.source
    )
