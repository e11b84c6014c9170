"""The wire forms of requests: strict, frozen, and with quantities already read."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, ClassVar, Literal

import msgspec

from service.errors import Fault
from service.facts import Clearance, Covering, Joining, Painted, Racking, Site
from service.quantity.kinds import Perimeter, RollLength, StripWidth

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
Count = Annotated[int, msgspec.Meta(ge=0, le=100_000)]


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
        msgspec.Meta(description="Take the version in force on that day; left out: today (UTC)."),
    ] = None
    units: Annotated[
        Literal["imperial", "metric"] | None,
        msgspec.Meta(description="The units of the answer; left out: those of the rule set."),
    ] = None

    def faults(self) -> list[Fault]:
        """Return what is wrong between members that are each fine alone."""
        return []


class SizingForm(Form, frozen=True, kw_only=True):
    """Size the strip and the channel for a clearance."""

    clearance: Clearance


class MaterialsForm(Form, frozen=True, kw_only=True):
    """List the materials for a perimeter, with a clearance or a strip width."""

    also: ClassVar[dict[str, Any]] = {
        "oneOf": [
            {
                "required": ["clearance"],
                "properties": {"clearance": {"type": "object"}, "strip_width": {"type": "null"}},
            },
            {
                "required": ["strip_width"],
                "properties": {"strip_width": {"type": "string"}, "clearance": {"type": "null"}},
            },
        ]
    }

    perimeter: Annotated[Perimeter, msgspec.Meta(description="Round the array, or all arrays.")]
    clearance: Clearance | None = None
    strip_width: Annotated[
        StripWidth | None, msgspec.Meta(description="Instead of a clearance: the strip to use.")
    ] = None
    joining: Annotated[
        Joining, msgspec.Meta(description="How pieces are joined where they lap.")
    ] = "rings"
    painted: Annotated[
        Painted, msgspec.Meta(description="Whether parts are bought black, or sprayed.")
    ] = "prepainted"
    corners: Annotated[
        Count | None,
        msgspec.Meta(description="Corners round the array; left out: the rule set's usual count."),
    ] = None
    penetrations: Annotated[
        Count, msgspec.Meta(description="Conduits, pipes and vents at the edge.")
    ] = 0
    roll_length: Annotated[
        RollLength | None,
        msgspec.Meta(description="One of the lengths mesh is sold in; left out: the usual one."),
    ] = None

    zones: Annotated[
        dict[ZoneName, Perimeter],
        msgspec.Meta(
            max_length=10,
            description="Lengths of the perimeter that lie in a zone of the rule set; the rest is"
            " standard.",
            examples=[{"exposed": "30 ft"}],
        ),
    ] = {}

    def faults(self) -> list[Fault]:
        """Return a fault unless exactly one of clearance and strip width is given."""
        if (self.clearance is None) == (self.strip_width is None):
            both = self.clearance is not None
            problem = "A clearance and a strip width are given." if both else "This is missing."
            remedy = "Give the clearance or the strip_width, one of the two."
            return [
                Fault(
                    path=("strip_width" if both else "clearance",), problem=problem, remedy=remedy
                )
            ]
        if sum(self.zones.values()) > self.perimeter:
            problem = "The zones are longer than the perimeter."
            return [Fault(path=("zones",), problem=problem, remedy="Give parts of the perimeter.")]
        return []


class SuitabilityForm(Form, frozen=True, kw_only=True):
    """Judge whether the barrier can be fitted on this roof in this way."""

    covering: Annotated[Covering, msgspec.Meta(description="What the roof is covered with.")] = (
        "unknown"
    )
    racking: Annotated[Racking, msgspec.Meta(description="What the modules stand on.")] = "unknown"
    clearance: Clearance | None = None
    site: Annotated[Site, msgspec.Meta(description="What was found on the roof.")] = Site()
