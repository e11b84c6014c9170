"""The headers of answers, and structs as JSON responses."""

from __future__ import annotations

import msgspec
from litestar import Response
from litestar.types import HTTPScope

from gapwright.rulesets.ruleset import RuleSet

BYTES = "application/octet-stream"
"""The media type under which a drawing, a crew sheet, and a batch are sent to who asks for it.

Some client generators know no other media type for bytes.
"""


def answer_headers(rules: RuleSet | None = None) -> dict[str, str]:
    """Return the headers of an answer or refusal, which no cache may keep."""
    if rules is None:
        return {"cache-control": "no-store"}
    return {
        "cache-control": "no-store",
        "gapwright-ruleset": rules.name,
        "gapwright-ruleset-digest": rules.digest,
    }


def answer_media_type(scope: HTTPScope, own: str) -> str:
    """Return `own`, or the media type of bytes where the Accept header names that one alone."""
    accept = dict(scope["headers"]).get(b"accept", b"").decode("latin-1")
    return BYTES if accept.split(";")[0].strip().lower() == BYTES else own


def json_response(content: msgspec.Struct, headers: dict[str, str]) -> Response[bytes]:
    """Return a struct as a JSON response."""
    encoded = msgspec.json.encode(content)
    return Response(encoded, media_type="application/json", headers=headers)
