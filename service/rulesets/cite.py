"""Cite a rule: where it stands in the rule set, and what it says there."""

from __future__ import annotations

from typing import Any

import msgspec

from service.rulesets.ruleset import RuleSet


class Citation(msgspec.Struct, frozen=True, kw_only=True):
    """A rule by its path in the rule set, and its content; the rule set itself has its source."""

    rule: str
    value: Any


def cite(rule: str, rules: RuleSet) -> Citation:
    """Return a citation of `rule`, a dotted path into the rule set's content."""
    node: Any = rules.content
    for step in rule.split("."):
        node = node[step]
    alone = rule.startswith(("values.", "mesh."))
    return Citation(rule=rule, value=node["value"] if alone else node)
