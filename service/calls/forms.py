"""The wire forms of requests: strict, frozen, and with quantities already read."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

import msgspec

from service.errors import Fault
from service.facts import Clearance, Covering, Racking, Site

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


class Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What every request may hold."""

    also: ClassVar[dict[str, Any]] = {}
    """What the form's JSON Schema says beyond its members."""

    ruleset: Annotated[
        RulesetName | None,
        msgspec.Meta(
            description="Whose rules, and which version; left out: the service's default."
        ),
    ] = None
    as_of: Annotated[
        date | None,
        msgspec.Meta(
            description="Take the version in force on that day; left out: today (UTC). A version"
            " that is named must be in force on it, too."
        ),
    ] = None
    units: Annotated[
        Literal["imperial", "metric"] | None,
        msgspec.Meta(description="The units of the answer; left out: those of the rule set."),
    ] = None
    explain: Annotated[
        bool,
        msgspec.Meta(
            description="Also say which rules each figure was computed from, in `explanation`."
        ),
    ] = False

    def faults(self) -> list[Fault]:
        """Return what is wrong between members that are each fine alone."""
        return []

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return what is wrong between members, by which are given alone: the rest is at fault."""
        del raw
        return []


class SizingForm(Form, frozen=True, kw_only=True):
    """Size the strip and the channel for a clearance."""

    clearance: Clearance


class SuitabilityForm(Form, frozen=True, kw_only=True):
    """Judge whether the barrier can be fitted on this roof in this way."""

    covering: Annotated[Covering, msgspec.Meta(description="What the roof is covered with.")] = (
        "unknown"
    )
    racking: Annotated[Racking, msgspec.Meta(description="What the modules stand on.")] = "unknown"
    clearance: Clearance | None = None
    site: Annotated[Site, msgspec.Meta(description="What was found on the roof.")] = Site()
