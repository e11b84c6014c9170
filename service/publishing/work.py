"""How much work a judgment takes, counted beforehand: never measured by a clock.

The unit is about one answer of a small call under a rule set of the usual size.
"""

from __future__ import annotations

from typing import Any

from service.publishing.examples import lays_out
from service.rulesets.ruleset import RuleSet
from service.rulesets.schema import ExampleEntry

_LAYOUT = 40
"""Work of a small layout."""
_QUOTE = 20
"""Work of a quote, which is computed anew for each thing that it assumes."""
_CHOICES = 2
"""How many times over a quote lays out what is drawn: for each choice that it tells of."""
_MODULE = 2
_RING = 10
"""Work of one module, and of one corner of an outline."""
_NEEDS = 20
_ROWS = 10
"""Needs of a bill, and rows of tables, that take as much work as all else of an answer."""


class Allowance:
    """Work that may be done; None for any amount."""

    def __init__(self, left: int | None = None) -> None:
        self._left = left

    def spend(self, work: int) -> bool:
        """Take work from what is left, and return whether there was enough of it."""
        if self._left is None:
            return True
        enough = work <= self._left
        self._left = self._left - work if enough else 0
        return enough


class Work:
    """The work of answering the examples of one rule set, and of making a mutant of it."""

    def __init__(self, rules: RuleSet) -> None:
        self._rows = sum(len(compiled.rows) for compiled in rules.tables.values()) // _ROWS
        self._needs = sum(1 + len(item.needs) for item in rules.bill) // _NEEDS
        self._examples = {name: self._example(one) for name, one in rules.examples.items()}

    @property
    def examples(self) -> int:
        """Return the work of answering all examples."""
        return sum(self._examples.values())

    def example(self, name: str) -> int:
        """Return the work of answering an example."""
        return self._examples[name]

    def making(self, section: str) -> int:
        """Return the work of making a mutant of what stands in a section."""
        return 1 + (self._rows if section == "tables" else self._needs)

    def _example(self, example: ExampleEntry) -> int:
        if example.call == "quote":
            return _QUOTE + self._needs + _CHOICES * _layout_work(example.given)
        more = {"materials": self._needs, "suitability": self._rows}.get(example.call, 0)
        return 1 + more + (_layout_work(example.given) if lays_out(example) else 0)


def _layout_work(given: Any) -> int:  # noqa: ANN401 - what an example holds, not yet judged
    """Return the work of laying out all that stands in a request, wherever it stands."""
    if isinstance(given, dict):
        block = _count(given.get("rows")) * _count(given.get("columns")) * _MODULE
        work = block + sum(_layout_work(part) for part in given.values())
        return work + (_LAYOUT if "array" in given else 0)
    if isinstance(given, list):
        return _RING * len(given) + sum(_layout_work(part) for part in given)
    return 0


def _count(found: object) -> int:
    return max(0, found) if isinstance(found, int) else 0
