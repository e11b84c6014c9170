"""Untested limits: mutants that every example of a rule set takes for the original.

What is tried is bounded by work, never by time, so that a file is judged alike everywhere.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import count
from typing import Any

import msgspec

from service.errors import Fault, GapwrightError
from service.publishing.examples import judge_example
from service.publishing.mutant import Mutant
from service.publishing.mutants import mutants
from service.publishing.reach import reaches
from service.publishing.work import Allowance, Work
from service.rulesets.ruleset import RuleSet
from service.rulesets.values import LAID_OUT


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
    allowance = allowance or Allowance()
    trying = list(mutants(rules, laid_out))
    work = Work(rules)
    faults: list[Fault] = []
    tried = 0
    if allowance.spend(work.examples):
        told = _Telling(reaches(rules), work, allowance, rules)
        for mutant in trying:
            found = told.by(mutant)
            if found is None:
                break
            tried += 1
            if not found:
                faults.append(_unnoticed(mutant))
    return Trial(faults=tuple(faults), tried=tried, limits=len(trying))


def laid_out_limits(rules: RuleSet, *, published: bool) -> frozenset[str]:
    """Return the limits of layouts that the examples of a rule set must test, as they are cited.

    A file answers for what its own rule set writes, itself or in versions that it is based on; and
    so does each file below it that has examples of layouts. Files that were published before
    examples could lay out have none, and nothing is asked of them: not of a version that is
    `published`, nor of what other rule sets take over from it.
    """
    trees = [document.tree for document in rules.resolved.documents]
    found: set[str] = set()
    for at, tree in enumerate(trees):
        if _has_layouts(tree) or (at == len(trees) - 1 and not published):
            found.update(*(_limits(one) for one in trees[: at + 1] if one["id"] == tree["id"]))
    return frozenset(found)


def _limits(tree: dict[str, Any]) -> Iterator[str]:
    """Yield the limits of layouts that a file writes: of values, and of values inside zones."""
    for name in LAID_OUT.intersection(tree.get("values", {})):
        yield f"values.{name}"
    for zone, entry in tree.get("zones", {}).items():
        for name in LAID_OUT.intersection(entry.get("values", {})):
            yield f"zones.{zone}.values.{name}"


def _has_layouts(tree: dict[str, Any]) -> bool:
    return any(entry.get("call") == "layout" for entry in tree.get("examples", {}).values())


def _unnoticed(mutant: Mutant) -> Fault:
    problem = f"No example notices when {mutant.changed}."
    return Fault(
        path=mutant.path, problem=problem, remedy="Add one on the limit and one just past it."
    )


class _Telling:
    """Tells mutants from the rule set by its examples, as far as the allowance goes."""

    def __init__(
        self,
        reached: dict[str, list[str]],
        work: Work,
        allowance: Allowance,
        rules: RuleSet,
    ) -> None:
        self._reached = reached
        self._work = work
        self._rules = rules
        self._allowance = allowance
        self._turn = count(1)
        self._last: dict[str, int] = {}

    def by(self, mutant: Mutant) -> bool | None:
        """Return whether an example tells a mutant; None when the allowance is used up."""
        names = self._candidates(mutant)
        if not self._allowance.spend(self._work.making(mutant.path, len(names))):
            return None
        changed = mutant.rules if names else self._rules
        for name in names:
            if not self._allowance.spend(self._work.example(name)):
                return None
            if _tells(name, changed):
                self._last[name] = next(self._turn)
                return True
        return False

    def _candidates(self, mutant: Mutant) -> list[str]:
        """Return the examples that can tell a mutant; those that told the last ones come first."""
        names = {name for rule in mutant.touches for name in self._reached.get(rule, ())}
        last, work = self._last, self._work
        return sorted(names, key=lambda name: (-last.get(name, 0), work.example(name), name))


def _tells(name: str, rules: RuleSet) -> bool:
    """Return whether an example tells a mutant, by another answer or by none at all."""
    try:
        return bool(judge_example(name, rules))
    except GapwrightError:
        return True
