"""What the service says of its own state."""

from __future__ import annotations

from typing import Literal

import msgspec


class Liveness(msgspec.Struct, frozen=True, kw_only=True):
    """The process answers."""

    status: Literal["alive"]
    engine: str


class Readiness(msgspec.Struct, frozen=True, kw_only=True):
    """The default rule set can be served; `problems` tells of files that cannot be used."""

    status: Literal["ready"]
    ruleset: str
    digest: str
    problems: tuple[str, ...]
