"""JSON in the one form that digests are taken of (RFC 8785).

The reference library walks through all data in Python; most data need no such care, as is seen by
their JSON. Checked against it in tests/outside.
"""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any

import msgspec
import rfc8785

_FLOAT = re.compile(rb"[:\[,]-?[0-9]+[.eE]")
"""A number that sorted JSON may write in another way than RFC 8785, with the sign before it."""
_LONG = re.compile(rb"[:\[,]-?[0-9]{16}")
"""An integer that a double may not hold: it has no canonical form."""
_LATE = re.compile(rb"[\xee-\xff]")
"""Part of a character that UTF-16 may sort before others, and UTF-8 after them."""
_sorted_encoder = msgspec.json.Encoder(order="sorted")


def digest(canonical: bytes) -> bytes:
    """Return the `sha256:` digest of canonical JSON."""
    return b"sha256:" + hashlib.sha256(canonical).hexdigest().encode()


def canonical(data: Any) -> bytes:  # noqa: ANN401 - any plain data
    """Return plain data, whatever they are, as canonical JSON.

    Raises rfc8785.CanonicalizationError for what has none: infinity, or an integer beyond 2^53.
    """
    try:
        text = json.dumps(
            data, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")
        )
        encoded = text.encode()
    except (TypeError, ValueError):
        return rfc8785.dumps(data)
    marked = b":%b" % encoded
    odd = _FLOAT.search(marked) or _LONG.search(marked) or _LATE.search(marked)
    return rfc8785.dumps(data) if odd else encoded


def canonical_request(data: object) -> bytes:
    """Return a request that was decoded from JSON as canonical JSON."""
    encoded = _sorted_encoder.encode(data)
    plain = encoded.isascii() and not _FLOAT.search(b":%b" % encoded)
    return encoded if plain else rfc8785.dumps(data)  # type: ignore[arg-type]


def canonical_result(result: object) -> bytes:
    """Return a result as canonical JSON.

    Sorted JSON is canonical already: the numbers of a result are written without dot-zero and
    exponent (`quantity.show.decimal`), and its names are ASCII.
    """
    return _sorted_encoder.encode(result)
