"""A layout as a caller reads it."""

from __future__ import annotations

from typing import Any, Literal

import msgspec

from service.calls.answers.sizing import AdviceAnswer, ClearanceAnswer, ProfileAnswer
from service.quantity.show import Length


class Spot(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A place on the roof plane: x along the eave, y up the slope."""

    x: Length
    y: Length


class ToldReadings(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Readings and where they were told: on an edge, on all edges of a facing, or for all."""

    plane: str
    place: str
    readings: tuple[Length, ...]


class LaidStrip(msgspec.Struct, frozen=True, kw_only=True):
    """A strip with its channel, and the readings that it was sized for.

    `width` is null where no stocked strip is wide enough, `profile` where no channel can be bent;
    `advice` says what to do where no stocked strip fits snugly.
    """

    strip: str
    width: Length | None
    profile: ProfileAnswer | None
    clearance: ClearanceAnswer
    told: tuple[ToldReadings, ...]
    advice: tuple[AdviceAnswer, ...]


class EdgeAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One straight run of a loop; `corner` tells how it begins, `strip` what goes along it."""

    edge: str
    plane: str
    facing: Literal["eave", "ridge", "left", "right"]
    start: Spot
    end: Spot
    length: Length
    corner: Literal["outside", "inside"]
    hole: bool
    open: bool
    zone: str
    strip: str | None


class MarkAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One mark along a piece's tape, and what to do there, in words."""

    at: Length
    kind: Literal["lap_ends", "tab", "corner", "penetration", "next_laps", "return_bend", "end"]
    edge: str
    text: str


class PieceAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One piece of channel: what to cut, and what to mark on the tape from its first end."""

    piece: str
    plane: str
    strip: str
    cut_length: Length
    covers: Length
    lap: Length | None
    return_length: Length | None
    marks: tuple[MarkAnswer, ...]


class LapAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where one piece laps the piece before it; `crowded` where no better place was to be had."""

    piece: str
    over: str
    plane: str
    length: Length
    edge: str
    zone: str
    place: Spot
    crowded: bool


class TabAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where the channel is fixed to a rail that crosses the edge.

    The tab is on the rail's upslope face, or beside it where the rail runs up the slope.
    """

    edge: str
    plane: str
    along: Length
    place: Spot
    side: Literal["upslope", "beside"]


class ReturnAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where one end of a piece is turned in to a rail, and the mesh that this takes.

    `direction` is which way it runs along the edge, seen as the pieces are set; `foot` is where it
    meets the rail.
    """

    piece: str
    edge: str
    plane: str
    place: Spot
    length: Length
    end: Literal["start", "end"]
    direction: Literal["onward", "back"]
    foot: Spot


class CutPieceAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A piece as it is cut from a roll, from the roll's free end."""

    piece: str
    plane: str
    start: Length
    length: Length


class RollAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One roll: its pieces in the order they are cut, and what is left of it."""

    length: Length
    strip_width: Length
    pieces: tuple[CutPieceAnswer, ...]
    remnant: Length


class CutPlanAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Which piece is cut from which roll, by the widths of their strips.

    Pieces of a strip that is not stocked (`no_strip`) are cut from none. `optimal`: no plan takes
    fewer rolls; else no plan takes fewer than `bound`.
    """

    rolls: tuple[RollAnswer, ...]
    optimal: bool
    bound: int


class CountsAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Counts that drive a bill; `rolls` are those of the cut plan."""

    perimeter: Length
    cut_mesh: Length
    pieces: int
    laps: int
    corners: int
    tabs: int
    returns: int
    penetrations: int
    rolls: int


class ConditionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Something that a person must look at or decide, where the rules could not be kept alone."""

    kind: Literal[
        "overlong_span",
        "crowded_laps",
        "no_layout",
        "rails_unknown",
        "penetration_away",
        "penetration_at_open_edge",
        "unknown_edge",
        "hole_too_narrow",
        "slot_too_narrow",
        "arrays_near",
        "touching_at_corner",
        "overlap_within_rounding",
        "no_strip",
        "strips_meet",
        "uneven_edges",
    ]
    text: str
    plane: str
    place: Spot | None = None


class PlanePicture(msgspec.Struct, frozen=True, kw_only=True):
    """The geometry of one plane as GeoJSON.

    Coordinates are metres on the roof plane (x along the eave, y up the slope), not longitude and
    latitude: the geometry objects are those of RFC 7946, the reference system is not. An array is
    a Polygon, or a MultiPolygon where it is told in parts that only touch.
    """

    plane: str
    features: dict[str, Any]


class LayoutAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The layout: edges, pieces, laps, tabs, returns, counts and cut plan.

    `strip_width` and `profile` are those of the first of `strips`: the usual one. There are more
    only where the readings of some edges do not suit it.
    """

    perimeter: Length
    strip_width: Length | None
    profile: ProfileAnswer | None
    strips: tuple[LaidStrip, ...]
    edges: tuple[EdgeAnswer, ...]
    pieces: tuple[PieceAnswer, ...]
    laps: tuple[LapAnswer, ...]
    tabs: tuple[TabAnswer, ...]
    returns: tuple[ReturnAnswer, ...]
    counts: CountsAnswer
    cut_plan: CutPlanAnswer
    conditions: tuple[ConditionAnswer, ...]
    geometry: tuple[PlanePicture, ...]
