"""Lengths and hypothesis settings that the tests share."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import HealthCheck, settings

IN = 25_400_000
FT = 12 * IN
MM = 1_000_000
M = 1_000 * MM

STEADY = settings(
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
"""The same examples in every run, and no clock: the machine may be busy."""

PROMPT = settings(STEADY, deadline=5000, max_examples=150)
"""For what must not hang: each example has five seconds, and takes thousandths of one."""


def inches(text: str) -> int:
    """Return a mixed number of inches, `4 1/2` or `4.5`, in nanometres; read by Fraction alone."""
    nm = sum(Fraction(part) for part in text.split()) * IN
    assert nm.denominator == 1
    return int(nm)
