"""The trace: which rules each figure of an answer follows from."""

from __future__ import annotations

import msgspec


class Step(msgspec.Struct, frozen=True, gc=False, cache_hash=True):
    """One figure of the result (a JSON pointer into it) and the rules that it cites."""

    figure: str
    cites: tuple[str, ...]
