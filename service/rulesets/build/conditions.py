"""Build the `when` of a bill line, tool or caution: facts and the answers that fulfil it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.errors import Fault
from service.quantity.kinds import shown
from service.rulesets.ruleset import Conditions
from service.rulesets.vocabulary import CHOICES, FLAGS
from service.strict import unknown_name

Path = tuple[str | int, ...]


def build_conditions(when: Mapping[str, Any], path: Path, found: list[Fault]) -> Conditions:
    """Return conditions ready to check; faults are added to `found`."""
    built = []
    for name, wanted in when.items():
        options = wanted if isinstance(wanted, list) else [wanted]
        faults = list(check_fact(name, options, (*path, name)))
        found.extend(faults)
        built.append((name, frozenset(options)))
    return tuple(built)


def check_fact(name: str, options: list[Any], path: Path) -> list[Fault]:
    """Return what is wrong with a condition on a fact with a fixed set of answers."""
    if not options:
        return [Fault(path=path, problem="Nothing is listed.", remedy="List an answer.")]
    if name in FLAGS:
        bad = [option for option in options if not isinstance(option, bool)]
        return [_fault(path, option, "Write true or false.") for option in bad]
    if name in CHOICES:
        known = CHOICES[name]
        bad = [option for option in options if option not in known]
        return [_fault(path, option, unknown_name(option, list(known))) for option in bad]
    remedy = unknown_name(name, [*CHOICES, *FLAGS])
    return [Fault(path=path, problem=f"There is no fact {name} to ask here.", remedy=remedy)]


def _fault(path: Path, option: object, remedy: str) -> Fault:
    return Fault(path=path, problem=f"Found {shown(option)}.", remedy=remedy)
