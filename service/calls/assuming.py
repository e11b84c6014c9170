"""What a quote assumes where the caller does not say, and a record of each time that it does."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from service.errors import Fault
from service.rulesets.figures import Figure
from service.rulesets.ruleset import Assumption, RuleSet

Amount = int | Fraction
Path = tuple[str | int, ...]


class Assumed:
    """Takes assumptions from a rule set; `instead` puts other values in their place.

    What the rule set does not assume is noted as a fault where the caller could have given it.
    """

    def __init__(self, rules: RuleSet, instead: Mapping[str, Amount] | None = None) -> None:
        self.rules = rules
        self._instead = instead or {}
        self.used: dict[str, Assumption] = {}
        self.places: dict[str, list[Path]] = {}
        self.faults: list[Fault] = []

    def take(self, name: str, path: Path) -> Figure[Any]:
        """Return the value that is assumed for what the caller left out at a path."""
        assumption = self.rules.assumptions.get(name)
        if assumption is None:
            problem = f"This is missing, and {self.rules.name} does not say what to assume."
            remedy = "Give it, or ask under a rule set that has assumptions."
            self.faults.append(Fault(path=path, problem=problem, remedy=remedy))
            return Figure(1)
        self.used[name] = assumption
        self.places.setdefault(name, []).append(path)
        return self.value(name)

    def value(self, name: str) -> Figure[Any]:
        """Return what is assumed under a name, whether it was used or not."""
        if name in self._instead:
            return Figure(self._instead[name])
        return self.rules.figure(lambda: self.rules.assumptions[name].value)

    def given(self, value: object, name: str, path: Path) -> Figure[Any]:
        """Return a value that the caller gave, or what is assumed for it."""
        return self.take(name, path) if value is None else Figure(value)
