"""Settings of the service: one frozen struct, read once at start."""

from __future__ import annotations

from pathlib import Path

import msgspec

from gapwright.places import shipped

MOST_BODY_BYTES = 2_000_000


class Settings(msgspec.Struct, frozen=True, kw_only=True):
    """Where the rules are, which rule set and price book are the default, and the bounds."""

    rules: Path = msgspec.field(default_factory=lambda: shipped("rules"))
    default_ruleset: str = "baseline"
    default_pricebook: str = "demo"
    most_body_bytes: int = MOST_BODY_BYTES
