"""The facts of a job that a caller gives."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from gapwright.quantity.kinds import Reading

Covering = Literal[
    "asphalt_shingle",
    "wood_shake",
    "slate",
    "clay_tile",
    "concrete_tile",
    "standing_seam_metal",
    "ribbed_metal",
    "membrane",
    "unknown",
]
Racking = Literal["rail_mounted", "railless", "ballasted", "unknown"]
Joining = Literal["rings", "ties"]
Painted = Literal["prepainted", "spray"]
Bending = Literal["hand", "brake"]
Pitch = Literal["low", "walkable", "steep"]
Stories = Literal["one", "two", "more"]


class Clearance(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Readings of the clearance: roof surface to the underside of the module frame."""

    readings: Annotated[
        tuple[Reading, ...],
        msgspec.Meta(
            min_length=1,
            max_length=1000,
            description="Readings at several places around the array, in any order.",
        ),
    ]


class Site(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was found on the roof. Anything left out is assumed absent, and the answer says so."""

    active_nest: Annotated[
        bool | None,
        msgspec.Meta(description="There is a nest with eggs or young, or one being built."),
    ] = None
    animals_present: Annotated[
        bool | None, msgspec.Meta(description="Animals live under the array.")
    ] = None
    bat_roost: Annotated[bool | None, msgspec.Meta(description="Bats roost under the array.")] = (
        None
    )
    poor_roof_condition: Annotated[
        bool | None, msgspec.Meta(description="The roof is in poor condition.")
    ] = None
    damaged_wiring: Annotated[
        bool | None, msgspec.Meta(description="Wiring under the array is damaged or bare.")
    ] = None
    manufacturer_prohibits: Annotated[
        bool | None,
        msgspec.Meta(
            description="The manufacturer of the modules or racking does not allow added parts."
        ),
    ] = None


SITE_FLAGS: tuple[str, ...] = Site.__struct_fields__
