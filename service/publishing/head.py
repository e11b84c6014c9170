"""What is asked of the head of a new version: its name is free, and its bases stand."""

from __future__ import annotations

from service.errors import Fault
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import Shelf
from service.rulesets.shelf import withdrawn_bases

RESERVED = ("check", "what-if")
"""Names at which the service answers something else beside the rule sets."""


def head_faults(rules: RuleSet, shelf: Shelf) -> list[Fault]:
    """Return what keeps a file from being published as new; nothing where it was published."""
    if shelf.knows(rules):
        return []
    faults = [
        Fault(
            path=("based_on",),
            problem=f"{base.name} was withdrawn on {base.withdrawn}.",
            remedy="Base it on a version that stands.",
        )
        for base in withdrawn_bases(rules, shelf.ledger)
    ]
    if rules.id in RESERVED:
        problem = f"The name {rules.id} is taken by an address of the service."
        faults.insert(0, Fault(path=("id",), problem=problem, remedy="Choose another name."))
    return faults
