"""Shared by all calls: the members of every request, faults, and the result of a call."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal

import msgspec

from gapwright.calc.bill import roll_lengths_nm
from gapwright.errors import Fault, InvalidRequestError
from gapwright.facts import Clearance
from gapwright.quantity.kinds import RollLength
from gapwright.quantity.show import System, long
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet

Path = tuple[str | int, ...]
RulesetName = Annotated[
    str,
    msgspec.Meta(
        max_length=80,
        description="A rule set (`baseline`) or one version of it (`baseline@1.0.0`).",
        examples=["baseline", "baseline@1.0.0"],
        extra_json_schema={"format": "ruleset-name"},
    ),
]
ZoneName = Annotated[str, msgspec.Meta(extra_json_schema={"format": "zone-name"})]


class BaseRequest(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Members of every request."""

    ruleset: RulesetName | None = None
    """Rule set, with or without a version. Default: the rule set of the service."""
    as_of: date | None = None
    """Use the version in effect on this date. Default: today (UTC). A version that is named must be
    in effect on this date too.
    """
    units: Literal["imperial", "metric"] | None = None
    """Units of the answer. Default: the units of the rule set."""
    explain: bool = False
    """Add `explanation`: the rules that each figure was computed from."""
    echo: bool = False
    """Add `request`: this request in full, with its defaults, the version of the rule set, and the
    date. Sent again, it gets the same result.
    """

    def faults(self) -> list[Fault]:
        """Return the faults between members that are each valid alone."""
        return []

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return the faults that follow from which members are given, when others are invalid."""
        del raw
        return []


class Computed(msgspec.Struct, frozen=True, kw_only=True):
    """The result of a call, and the facts that decide which cautions go with it."""

    result: Any
    facts: dict[str, Any]

    def __post_init__(self) -> None:
        """Replace figures by their values: assumed facts need no further record."""
        plain = {n: f.value if isinstance(f, Figure) else f for n, f in self.facts.items()}
        msgspec.structs.force_setattr(self, "facts", plain)


def refuse(faults: list[Fault]) -> None:
    """Raise InvalidRequestError with the faults, if there are any."""
    if faults:
        raise InvalidRequestError(faults)


def within(fault: Fault, path: Path) -> Fault:
    """Return a fault of a member at a path that leads from the request's root."""
    return Fault(path=(*path, *fault.path), problem=fault.problem, remedy=fault.remedy)


def readings_nm(clearance: Clearance | None) -> tuple[int, ...]:
    """Return the readings of a clearance [nm], empty if none was given."""
    return tuple(map(int, clearance.readings)) if clearance else ()


def roll_faults(roll: RollLength | None, system: System, rules: RuleSet) -> list[Fault]:
    """Return a fault, with lengths in units of `system`, if no rolls of that length are sold."""
    sold = sorted(roll_lengths_nm(rules))
    if roll is None or roll in sold:
        return []
    shown = " or ".join(long(size, system, "down").text for size in sold)
    problem = f"{rules.name} has no rolls of {long(roll, system, 'down').text}."
    return [Fault(path=("roll_length",), problem=problem, remedy=f"Use {shown}.")]
