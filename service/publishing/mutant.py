"""A mutant: a rule set with one thing changed a little, to see whether its examples notice."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from service.rulesets.ruleset import RuleSet

HAIR_NM = 396_875
"""A hair of a length: a sixty-fourth of an inch."""

Path = tuple[str | int, ...]


class Mutant(msgspec.Struct, frozen=True, kw_only=True):
    """A rule set with one thing changed: where, and what, as words.

    `touches` are the rules, or dotted beginnings of rules, one of which an example reaches when it
    can tell the mutant. `make` returns the changed rule set: many are told of, and few are made.
    """

    path: Path
    changed: str
    touches: tuple[str, ...]
    make: Callable[[], RuleSet]

    @property
    def rules(self) -> RuleSet:
        """Return the rule set with the change."""
        return self.make()
