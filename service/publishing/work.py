"""How much work a judgement takes, counted beforehand: never measured by a clock.

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
"""Work of a quote, which is reckoned anew for each thing that it assumes."""
_CHOICES = 2
"""How many times over a quote lays out what is drawn: for each choice that it tells of."""
_MODULE = 2
_RING = 10
"""Work of one module, and of one corner of an outline."""
_LINES = 20
_ROWS = 10
"""Lines of a bill, and rows of tables, that take as much work as all else of an answer."""
_CITED = 200
_NAMES = 100
"""Rules that a bill cites, and examples to choose from, that do."""


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
    """The work that judging one rule set takes, part by part."""

    def __init__(self, rules: RuleSet) -> None:
        lines = sum(1 + len(item.needs) for item in rules.bill)
        self._rows = sum(len(compiled.rows) for compiled in rules.tables.values())
        self._lines = lines // _LINES + _cited(rules) // _CITED
        self._examples = {name: self._example(one) for name, one in rules.examples.items()}

    @property
    def examples(self) -> int:
        """Return the work of answering all examples."""
        return sum(self._examples.values())

    def example(self, name: str) -> int:
        """Return the work of answering an example."""
        return self._examples[name]

    def making(self, path: tuple[str | int, ...], examples: int) -> int:
        """Return the work of making a mutant of what stands at `path`, to be tried by examples."""
        if not examples:
            return 1
        made = self._rows if path[0] == "tables" else self._lines
        return 1 + made // _ROWS + examples // _NAMES

    def _example(self, example: ExampleEntry) -> int:
        if example.call == "quote":
            return _QUOTE + self._lines + _CHOICES * _layout_work(example.given)
        more = {"materials": self._lines, "suitability": self._rows // _ROWS}.get(example.call, 0)
        return 1 + more + (_layout_work(example.given) if lays_out(example) else 0)


def _cited(rules: RuleSet) -> int:
    """Return about how many rules the lines of a bill cite, those that drive each other above all.

    A line cites what its drivers cite, so that a chain of them cites as many as its square.
    """
    needs = sum(len(item.needs) for item in rules.bill)
    follows: dict[str, int] = {}
    cited = 0
    for item in rules.bill:
        found = sum(1 + follows.get(need.driver, 0) for need in item.needs)
        cited += found
        follows[item.id] = min(needs, found)
    return cited


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
