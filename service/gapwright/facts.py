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
Attachment = Literal["rails", "frame_clips", "undecided"]
Joining = Literal["rings", "ties"]
Painted = Literal["prepainted", "spray"]
Bending = Literal["hand", "brake"]
Pitch = Literal["low", "walkable", "steep"]
Stories = Literal["one", "two", "more"]


class Clearance(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Readings of the clearance: roof surface to the underside of the module frame."""

    readings: Annotated[tuple[Reading, ...], msgspec.Meta(min_length=1, max_length=1000)]
    """Readings at several places around the array, in any order."""


class Site(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was found on the roof. Anything left out is assumed absent, and the answer says so."""

    active_nest: bool | None = None
    """There is a nest with eggs or young, or one being built."""
    animals_present: bool | None = None
    """Animals live under the array."""
    bat_roost: bool | None = None
    """Bats roost under the array."""
    poor_roof_condition: bool | None = None
    """The roof is in poor condition."""
    damaged_wiring: bool | None = None
    """Wiring under the array is damaged or bare."""
    manufacturer_prohibits: bool | None = None
    """The manufacturer of the modules or racking does not allow added parts."""


SITE_FLAGS: tuple[str, ...] = Site.__struct_fields__
