"""Conditions of rules on the facts of a job, and the cautions that they call for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import Caution, Conditions, RuleSet


def applies(when: Conditions, facts: Mapping[str, Any]) -> bool:
    """Return whether the facts meet every condition; a fact that is not known meets any.

    So a caution is given rather than withheld if a fact that it depends on is unknown.
    """
    return all(_value(facts[name]) in accepted for name, accepted in when if name in facts)


def certainly_holds(when: Conditions, facts: Mapping[str, Any]) -> bool:
    """Return whether the facts meet every condition; a fact that is not known meets none.

    So labor is not counted twice if the job does not say which of two methods is used.
    """
    return all(name in facts and _value(facts[name]) in accepted for name, accepted in when)


def cautions(facts: Mapping[str, Any], rules: RuleSet) -> tuple[Caution, ...]:
    """Return the rule set's cautions that the facts call for, in the rule file's order."""
    return tuple(caution for caution in rules.cautions if applies(caution.when, facts))


def _value(fact: Any) -> Any:  # noqa: ANN401 - facts are of several types
    """Return a fact; one that was assumed is a figure, so that reading it is recorded."""
    return fact.value if isinstance(fact, Figure) else fact
