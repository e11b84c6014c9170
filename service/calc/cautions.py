"""The cautions that belong to an answer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.calc.conditions import holds
from service.rulesets.ruleset import Caution, RuleSet


def cautions(facts: Mapping[str, Any], rules: RuleSet) -> tuple[Caution, ...]:
    """Return the rule set's cautions that the facts call for, in the rule file's order."""
    return tuple(caution for caution in rules.cautions if holds(caution.when, facts))
