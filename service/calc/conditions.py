"""Conditions of rules on the facts of a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.rulesets.ruleset import Conditions


def holds(when: Conditions, facts: Mapping[str, Any]) -> bool:
    """Return whether the facts fulfil every condition; a fact that is not known fulfils any.

    That way a caution is given rather than withheld where a call does not tell what it hangs on.
    """
    return all(facts[name] in accepted for name, accepted in when if name in facts)


def told_to_hold(when: Conditions, facts: Mapping[str, Any]) -> bool:
    """Return whether the facts fulfil every condition; a fact that is not known fulfils none.

    That way work is not counted twice where a job does not tell which of two ways it is done.
    """
    return all(name in facts and facts[name] in accepted for name, accepted in when)
