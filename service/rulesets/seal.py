"""The digest that a version is published under."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import rfc8785

from service.canonical import canonical, digest


def seal(content: Mapping[str, Any], order: Mapping[str, Any]) -> str:
    """Return the `sha256:` digest of a version's content in canonical form (RFC 8785).

    The status is left out: withdrawing a version does not make it another one. Canonical JSON
    sorts names, so `order` adds the order of those entries in which it has a meaning. Content that
    has no canonical form has no digest: the empty text, which is nothing that was published.
    """
    lasting = {name: part for name, part in content.items() if name != "status"}
    lasting["order"] = dict(order)
    try:
        return digest(canonical(lasting)).decode()
    except rfc8785.CanonicalizationError:
        return ""
