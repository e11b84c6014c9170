"""Which rules an example can tell the change of: those that what it expects follows from.

Every example is tried for every rule.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.rulesets.ruleset import RuleSet

ANY_LINE = "bill."
"""What is reached by an example that looks at lines of a bill."""

ROLLS = "rolls"
"""What is reached by an example whose mesh must be sold in rolls of some length."""


def reaches(rules: RuleSet) -> dict[str, list[str]]:
    """Return for each rule, and each dotted beginning of one, the examples that can tell it."""
    found: dict[str, list[str]] = {}
    for name in rules.examples:
        for rule in reach(name, rules):
            found.setdefault(rule, []).append(name)
    return found


def reach(name: str, rules: RuleSet) -> set[str]:
    """Return the rules that an example may tell the change of: all that the rule set has."""
    del name
    keys = [*_keys(rules.content, ""), ROLLS]
    return {beginning for rule in keys for beginning in _beginnings(rule)}


def _keys(content: Mapping[str, Any], prefix: str) -> Iterator[str]:
    for name, part in content.items():
        yield f"{prefix}{name}"
        if isinstance(part, Mapping):
            yield from _keys(part, f"{prefix}{name}.")


def _beginnings(rule: str) -> Iterator[str]:
    """Yield a rule, and its beginnings with their dots: `bill.`, `bill.screw.`."""
    steps = rule.split(".")
    yield rule
    for length in range(1, len(steps)):
        yield ".".join(steps[:length]) + "."
    if len(steps) == 2:
        yield f"{rule}."
