"""JSON in the one form that digests are taken of (RFC 8785)."""

from __future__ import annotations

import hashlib
import re
from typing import Any

import msgspec
import rfc8785

_sorted_encoder = msgspec.json.Encoder(order="sorted")
_NUMBER_TO_REWRITE = re.compile(rb"[:\[,]-?(?:[0-9]+[.eE]|[0-9]{16})")
"""A number that RFC 8785 may write in another way than msgspec, with the sign before it."""


def digest(canonical: bytes) -> bytes:
    """Return the `sha256:` digest of canonical JSON."""
    return b"sha256:" + hashlib.sha256(canonical).hexdigest().encode()


def canonical(data: Any) -> bytes:  # noqa: ANN401 - any plain data
    """Return plain data as canonical JSON.

    Raises rfc8785.CanonicalizationError for infinity, NaN and integers beyond 2^53.
    """
    return rfc8785.dumps(data)


def canonical_request(data: Any) -> bytes:  # noqa: ANN401 - any plain data
    """Return a request that was decoded from JSON as canonical JSON.

    Raises rfc8785.CanonicalizationError for integers beyond 2^53.
    """
    # In ASCII without floats, sorted JSON is canonical. The library takes 10 times as long:
    # 180 ms instead of 17 for a request of 800 kB.
    encoded = _sorted_encoder.encode(data)
    if encoded.isascii() and not _NUMBER_TO_REWRITE.search(b":%b" % encoded):
        return encoded
    return rfc8785.dumps(data)
