"""The work of a job by task: what the reckoning of labour gives and its trace reads."""

from __future__ import annotations

from fractions import Fraction

import msgspec

from service.rulesets.ruleset import Surcharge, Task


class WorkPart(msgspec.Struct, frozen=True, kw_only=True):
    """The minutes of one person that one reason takes, and its rule."""

    need: str
    driver: str
    amount: int
    minutes: Fraction
    rule: str


class WorkLine(msgspec.Struct, frozen=True, kw_only=True):
    """The minutes of one person that a task takes."""

    task: Task
    minutes: Fraction
    parts: tuple[WorkPart, ...]


class Added(msgspec.Struct, frozen=True, kw_only=True):
    """The minutes of one person that a surcharge adds."""

    surcharge: Surcharge
    minutes: Fraction
