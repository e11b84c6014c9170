"""The headers of answers, and structs as JSON responses."""

from __future__ import annotations

import msgspec
from litestar import Response

from gapwright.rulesets.ruleset import RuleSet


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
