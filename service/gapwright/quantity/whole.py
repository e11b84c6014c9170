"""The one place where counts are rounded up."""

from __future__ import annotations


def whole(needed: int, each: int) -> int:
    """Return how many of `each` cover `needed` (same unit, `each` above zero)."""
    return -(-needed // each)
