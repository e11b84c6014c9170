"""Build the `when` of a bill line, tool, or caution: facts and the answers that meet it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gapwright.quantity.kinds import shown
from gapwright.rulesets.measure import Faults, Path
from gapwright.rulesets.ruleset import Conditions
from gapwright.rulesets.vocabulary import CHOICES, FLAGS


def build_conditions(when: Mapping[str, Any], path: Path, faults: Faults) -> Conditions:
    """Return the conditions, validated."""
    built = []
    for name, wanted in when.items():
        options = wanted if isinstance(wanted, list) else [wanted]
        check_fact(name, options, (*path, name), faults)
        built.append((name, frozenset(options)))
    return tuple(built)


def check_fact(name: str, options: list[Any], path: Path, faults: Faults) -> None:
    """Add the faults of a condition on a fact with a fixed set of answers."""
    if not options:
        faults.add(path, "The list is empty.", "List at least one answer.")
    elif name in FLAGS:
        for option in options:
            if not isinstance(option, bool):
                faults.add(path, f"Expected true or false; got {shown(option)}.")
    elif name in CHOICES:
        known = CHOICES[name]
        for option in options:
            if option not in known:
                problem = f"Unknown answer for {name}: {shown(option)}."
                faults.add_unknown(path, problem, option, known)
    else:
        faults.add_unknown(path, f"Unknown fact '{name}'.", name, [*CHOICES, *FLAGS])
