"""Build the `when` of a bill line, tool or caution: facts and the answers that fulfil it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gapwright.quantity.kinds import shown
from gapwright.rulesets.measure import Faults, Path
from gapwright.rulesets.ruleset import Conditions
from gapwright.rulesets.vocabulary import CHOICES, FLAGS


def build_conditions(when: Mapping[str, Any], path: Path, faults: Faults) -> Conditions:
    """Return conditions ready to check."""
    built = []
    for name, wanted in when.items():
        options = wanted if isinstance(wanted, list) else [wanted]
        check_fact(name, options, (*path, name), faults)
        built.append((name, frozenset(options)))
    return tuple(built)


def check_fact(name: str, options: list[Any], path: Path, faults: Faults) -> None:
    """Add what is wrong with a condition on a fact with a fixed set of answers."""
    if not options:
        faults.add(path, "Nothing is listed.", "List an answer.")
    elif name in FLAGS:
        for option in options:
            if not isinstance(option, bool):
                faults.add(path, f"Found {shown(option)}.", "Write true or false.")
    elif name in CHOICES:
        known = CHOICES[name]
        for option in options:
            if option not in known:
                faults.add_unknown(path, f"Found {shown(option)}.", option, known)
    else:
        faults.add_unknown(path, f"There is no fact {name} to ask here.", name, [*CHOICES, *FLAGS])
