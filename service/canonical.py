"""JSON in the one form that digests are taken of (RFC 8785)."""

from __future__ import annotations

import hashlib
import re

import msgspec
import rfc8785

_FLOAT = re.compile(rb"[:\[,]-?[0-9]+[.eE]")
"""A number that sorted JSON may write in another way than RFC 8785, with the sign before it."""
_sorted_encoder = msgspec.json.Encoder(order="sorted")


def digest(canonical: bytes) -> bytes:
    """Return the `sha256:` digest of canonical JSON."""
    return b"sha256:" + hashlib.sha256(canonical).hexdigest().encode()


def canonical_request(data: object) -> bytes:
    """Return a request as canonical JSON."""
    encoded = _sorted_encoder.encode(data)
    plain = encoded.isascii() and not _FLOAT.search(b":%b" % encoded)
    return encoded if plain else rfc8785.dumps(data)  # type: ignore[arg-type]


def canonical_result(result: object) -> bytes:
    """Return a result as canonical JSON.

    Sorted JSON is canonical already: the numbers of a result are written without dot-zero and
    exponent (`quantity.show.decimal`), and its names are ASCII. Checked in tests/outside.
    """
    return _sorted_encoder.encode(result)
