"""Untested limits: mutants that every example of a rule set takes for the original.

What is tried is bounded by work, never by time, so that a file is judged alike everywhere.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

import msgspec

from service.errors import Fault, GapwrightError
from service.publishing.examples import judge_example, lays_out
from service.publishing.mutants import Mutant, mutants
from service.publishing.work import Allowance, Work
from service.rulesets.ruleset import RuleSet
from service.rulesets.schema import ExampleEntry
from service.rulesets.values import LAID_OUT

_CALLS = {
    "bill": ("materials", "quote"),
    "zones": ("materials", "layout", "quote"),
    "tables": ("suitability", "quote"),
    "assumptions": ("quote",),
    "work": ("quote",),
    "surcharges": ("quote",),
    "mesh": ("quote",),
}
"""The calls whose answers a section can affect; any call for sections that are not listed."""


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """What came of the mutants: a fault for each that no example tells, and how many were tried."""

    faults: tuple[Fault, ...]
    tried: int
    limits: int


def untested(rules: RuleSet, laid_out: Collection[str] = ()) -> list[Fault]:
    """Return a fault for each mutant that every example of the rule set takes for the original."""
    return list(try_mutants(rules, laid_out).faults)


def try_mutants(
    rules: RuleSet, laid_out: Collection[str] = (), allowance: Allowance | None = None
) -> Trial:
    """Return which mutants no example tells, as far as an allowance of work goes."""
    trying = list(mutants(rules, laid_out))
    work, allowance = Work(rules), allowance or Allowance()
    faults: list[Fault] = []
    tried, last = 0, ""
    for mutant in trying:
        noticed = _notices(mutant, rules, work, allowance, last)
        if noticed is None:
            break
        tried += 1
        last = noticed or last
        if not noticed:
            problem = f"No example notices when {mutant.changed}."
            remedy = "Add one on the limit and one just past it."
            faults.append(Fault(path=mutant.path, problem=problem, remedy=remedy))
    return Trial(faults=tuple(faults), tried=tried, limits=len(trying))


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


def _notices(
    mutant: Mutant, rules: RuleSet, work: Work, allowance: Allowance, last: str
) -> str | None:
    """Return the first example that notices a mutant, "" if none does.

    None where the allowance is used up before that is known.
    """
    if not allowance.spend(work.making(mutant.path[0])):
        return None
    changed = mutant.rules
    for name in _candidates(mutant, rules, work, last):
        if not allowance.spend(work.example(name)):
            return None
        try:
            noticed = bool(judge_example(name, changed))
        except GapwrightError:  # a table that no longer answers
            noticed = True
        if noticed:
            return name
    return ""


def _candidates(mutant: Mutant, rules: RuleSet, work: Work, last: str) -> list[str]:
    """Return the examples that may notice a mutant, in the order in which they are tried.

    What noticed the last mutant often notices the next one, so it comes first; then examples that
    are named after what is changed, as authors do; then what is little work.
    """
    calls = _CALLS.get(mutant.path[0])
    by_layout = mutant.path[-1] in LAID_OUT and "values" in mutant.path
    lines = _affected_lines(mutant.path[1], rules) if mutant.path[0] == "bill" else None
    names = [
        name
        for name, example in rules.examples.items()
        if (calls is None or example.call in calls)
        and (not by_layout or example.call == "quote" or lays_out(example))
        and (lines is None or _looks_at(example, lines))
    ]

    def order(name: str) -> tuple[bool, bool, int]:
        named = any(step in name for step in mutant.path[1:])
        return name != last, not named, work.example(name)

    return sorted(names, key=order)


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
