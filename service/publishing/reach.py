"""Which rules an example can tell the change of: those that what it expects follows from.

An example looks at some figures of its answer, and the trace says which rules they follow from. A
rule that none of them follows from can change without the example failing, so it need not be tried.
"""

from __future__ import annotations

from collections.abc import Iterator

from service.rulesets.ruleset import RuleSet
from service.rulesets.values import LAID_OUT, kinds

ANY_LINE = "bill."
"""What is reached by an example that looks at lines of a bill."""

ROLLS = "rolls"
"""What is reached by an example whose mesh must be sold in rolls of some length."""

_LAYOUT = frozenset(f"values.{name}" for name in LAID_OUT)


def reaches(rules: RuleSet) -> dict[str, list[str]]:
    """Return for each rule, and each dotted beginning of one, the examples that can tell it."""
    found: dict[str, list[str]] = {}
    for name in rules.examples:
        for rule in reach(name, rules):
            found.setdefault(rule, []).append(name)
    return found


def reach(name: str, rules: RuleSet) -> set[str]:
    """Return the rules that an example can tell the change of: all."""
    del name
    keys = (
        [f"values.{n}" for n in kinds()]
        + [f"tables.{t}" for t in rules.tables]
        + ["bill.x.y", "zones.x.values.y", "zones.x.bill.y.z", "mesh.x", ROLLS]
    )
    return {beginning for rule in keys for beginning in _beginnings(rule)}


def _beginnings(rule: str) -> Iterator[str]:
    """Yield a rule, and its beginnings with their dots: `bill.`, `bill.screw.`."""
    steps = rule.split(".")
    yield rule
    for length in range(1, len(steps)):
        yield ".".join(steps[:length]) + "."
    if len(steps) == 2:
        yield f"{rule}."
