"""Untested limits: mutants for which every example of a rule set still passes.

The work is estimated in advance and not measured by a clock, so that a file is judged the same way
everywhere. The unit of work is about one answer to a small request.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from typing import Any

import msgspec

from gapwright.errors import Fault, GapwrightError
from gapwright.publishing.examples import judge_example, lays_out
from gapwright.publishing.mutants import Mutant, mutants
from gapwright.rulesets.recording import recording
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.schema import ExampleEntry
from gapwright.rulesets.values import LAID_OUT

_LAYOUT = 40
"""Work of a small layout."""
_QUOTE = 20
"""Work of a quote, which is computed again for each assumption."""
_CHOICES = 2
"""How many times over a quote lays out what is drawn: for each choice that it offers."""
_MODULE = 2
_RING = 10
"""Work of one module, and of one corner of an outline."""
_NEEDS = 4
_ROWS = 10
"""Needs of a bill, and rows of tables, that take as much work as a small call."""


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """A fault for each mutant that no example notices, and how many mutants were tried."""

    faults: tuple[Fault, ...]
    tried: int
    limits: int


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
        """Return the work of making a mutant of an entry of a section."""
        return 1 + (self._rows if section == "tables" else self._needs)

    def _example(self, example: ExampleEntry) -> int:
        if example.call == "quote":
            return _QUOTE + self._needs + _CHOICES * _layout_work(example.given)
        more = {"materials": self._needs, "suitability": self._rows}.get(example.call, 0)
        return 1 + more + (_layout_work(example.given) if lays_out(example) else 0)


def _layout_work(given: Any) -> int:  # noqa: ANN401 - what an example holds, not yet judged
    """Return the work of laying out all arrays in a request, wherever they are."""
    if isinstance(given, dict):
        block = _count(given.get("rows")) * _count(given.get("columns")) * _MODULE
        work = block + sum(_layout_work(part) for part in given.values())
        return work + (_LAYOUT if "array" in given else 0)
    if isinstance(given, list):
        return _RING * len(given) + sum(_layout_work(part) for part in given)
    return 0


def _count(found: object) -> int:
    return max(0, found) if isinstance(found, int) else 0


def untested(rules: RuleSet, laid_out: AbstractSet[str] = frozenset()) -> list[Fault]:
    """Return a fault for each mutant that every example of the rule set takes for the original."""
    return list(try_mutants(rules, laid_out).faults)


def try_mutants(
    rules: RuleSet,
    laid_out: AbstractSet[str] = frozenset(),
    allowance: Allowance | None = None,
) -> Trial:
    """Return which mutants no example notices, as far as an allowance of work goes."""
    trying = list(mutants(rules, laid_out))
    work, allowance = Work(rules), allowance or Allowance()
    if not allowance.spend(work.examples):
        return Trial(faults=(), tried=0, limits=len(trying))
    read = {name: entries_read(name, rules) for name in rules.examples}
    faults: list[Fault] = []
    tried = 0
    for mutant in trying:
        names = _candidates(mutant, rules, read, work)
        noticed = _first_to_notice(mutant, names, work, allowance)
        if noticed is None:
            break
        tried += 1
        if not noticed:
            problem = f"No example fails if {mutant.changed}."
            remedy = "Add an example at the limit and one just past it."
            faults.append(Fault(path=mutant.path, problem=problem, remedy=remedy))
    return Trial(faults=tuple(faults), tried=tried, limits=len(trying))


def entries_read(name: str, rules: RuleSet) -> frozenset[str]:
    """Return the keys of the rule entries that the answer to an example is computed from."""
    recorded = recording(rules)
    return frozenset(recorded.figure(lambda: judge_example(name, recorded)).reads)


def _candidates(
    mutant: Mutant, rules: RuleSet, read: Mapping[str, AbstractSet[str]], work: Work
) -> list[str]:
    """Return the examples that may notice a mutant, the likeliest and quickest first.

    Those may that read the changed entry. Where a condition is dropped or a share is no longer
    zero, an entry is read that was not before: then those that read anything of its section, first
    the ones that did not read the entry. Of the others, those named after what is changed. A bill
    computes all its lines, so an example that states others only is passed over.
    """
    section, dropped = mutant.path[0], mutant.path[-1] == "when"
    entry = mutant.path[:-1] if dropped else mutant.path
    by_section = dropped or section in ("mesh", "labor_factors")
    source = ("work",) if section == "labor_factors" else (section,)

    def precedence(name: str) -> tuple[bool, bool, bool, int]:
        cost = work.example(name)
        named = any(step in name for step in entry[1:])
        return dropped and _reads(read[name], entry), cost >= _LAYOUT, not named, cost

    reading = source if by_section else entry
    lines = _affected_lines(mutant.path[1], rules) if section == "bill" else None
    names = [
        name
        for name, example in rules.examples.items()
        if _reads(read[name], reading) and (lines is None or _looks_at(example, lines))
    ]
    return sorted(names, key=precedence)


def _reads(read: AbstractSet[str], path: tuple[str, ...]) -> bool:
    """Return whether a key that was read leads to a path, or into it."""
    entry = ".".join(path)
    return any(
        key == entry or key.startswith(f"{entry}.") or entry.startswith(f"{key}.") for key in read
    )


def _affected_lines(item: str, rules: RuleSet) -> set[str] | None:
    """Return the lines of the bill that a change of one may change: itself, and what it drives.

    None for what is measured by length, which may change any answer: it decides on strips.
    """
    affected = {item}
    for line in rules.bill:
        if line.id == item and line.measured:
            return None
        if any(need.driver in affected for need in (*line.needs, *line.counted)):
            affected.add(line.id)
    return affected


def _looks_at(example: ExampleEntry, lines: set[str]) -> bool:
    """Return whether an example may look at one of some lines of the bill.

    It does not where it states nothing but other lines; 80 lines that no example states would else
    take as many answers of each example.
    """
    stated = example.expect.get("lines")
    if example.expect.keys() != {"lines"} or not isinstance(stated, Mapping):
        return True
    return not lines.isdisjoint(stated)


def _first_to_notice(
    mutant: Mutant, names: list[str], work: Work, allowance: Allowance
) -> str | None:
    """Return the first example that notices a mutant, "" if none does.

    None where the allowance is used up before that is known.
    """
    if not allowance.spend(work.making(mutant.path[0])):
        return None
    changed = mutant.rules
    for name in names:
        if not allowance.spend(work.example(name)):
            return None
        try:
            noticed = bool(judge_example(name, changed))
        except GapwrightError:  # a table that no longer answers
            noticed = True
        if noticed:
            return name
    return ""


def laid_out_limits(rules: RuleSet, *, published: bool) -> frozenset[str]:
    """Return the limits of layouts that the examples of a rule set must test, as they are cited.

    A rule set answers for what it writes itself, in this file or in earlier versions that it is
    based on; its base answered for the rest when that was published. Versions that were published
    before examples could lay out have none, and nothing is asked of them.
    """
    trees = [document.tree for document in rules.resolved.documents]
    own = [tree for tree in trees if tree["id"] == rules.id]
    if published and not any(map(_has_layouts, own)):
        return frozenset()
    return frozenset(limit for tree in own for limit in _limits(tree))


def _limits(tree: dict[str, Any]) -> Iterator[str]:
    """Yield the limits of layouts that a file writes: of values, and of values inside zones."""
    for name in LAID_OUT.intersection(tree.get("values", {})):
        yield f"values.{name}"
    for zone, entry in tree.get("zones", {}).items():
        for name in LAID_OUT.intersection(entry.get("values", {})):
            yield f"zones.{zone}.values.{name}"


def _has_layouts(tree: dict[str, Any]) -> bool:
    return any(entry.get("call") == "layout" for entry in tree.get("examples", {}).values())
