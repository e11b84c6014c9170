"""The wire forms of arrays: modules, rails, penetrations and what holds edge by edge."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

import msgspec

from service.calls.forms import ZoneName
from service.facts import Clearance
from service.quantity.kinds import Gap, ModuleSide, Position, Share

MOST_MODULES = 20_000

Facing = Literal["eave", "ridge", "left", "right"]
EdgeName = Annotated[
    str,
    msgspec.Meta(
        pattern="^[A-Z]{1,3}(-hole-[0-9]{1,4}-)?[0-9]{1,5}$(?!\n)",
        description="The name of an edge, as an answer gives it: array letter and number.",
        examples=["A1", "B3", "A-hole-1-2"],
    ),
]


PlaneName = Annotated[
    str,
    msgspec.Meta(
        pattern="^[A-Za-z0-9 _-]{0,40}$(?!\n)",
        description="Up to 40 letters from A to Z, digits, spaces, hyphens and underscores.",
        examples=["South", "garage-2"],
    ),
]


class ModuleForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One module: its lower left corner, its sides along x and y, its turn about that corner."""

    x: Position
    y: Position
    width: ModuleSide
    height: ModuleSide
    turn: Annotated[
        float,
        msgspec.Meta(ge=-180, le=180, description="Degrees anticlockwise about the corner."),
    ] = 0


class BlockForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A plain grid of modules, from its lower left corner; what is left out is zero."""

    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    columns: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    long_side: ModuleSide
    short_side: ModuleSide
    x: Position | None = None
    y: Position | None = None
    orientation: Literal["portrait", "landscape"] = "portrait"
    column_gap: Gap | None = None
    row_gap: Gap | None = None


class Place(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A place on the roof plane."""

    x: Position
    y: Position


Ring = Annotated[tuple[Place, ...], msgspec.Meta(min_length=3, max_length=2000)]


class OutlineForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An area drawn as a ring round it, with rings round its holes."""

    shell: Ring
    holes: Annotated[tuple[Ring, ...], msgspec.Meta(max_length=200)] = ()


class ArrayForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What stands on one roof plane: any mix of single modules, blocks of them, and outlines."""

    also: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"required": [part], "properties": {part: {"minItems": 1}}}
            for part in ("modules", "blocks", "outline")
        ]
    }
    """What its JSON Schema says beyond its members, as that of `Form` does."""

    modules: Annotated[tuple[ModuleForm, ...], msgspec.Meta(max_length=MOST_MODULES)] = ()
    blocks: Annotated[tuple[BlockForm, ...], msgspec.Meta(max_length=500)] = ()
    outline: Annotated[tuple[OutlineForm, ...], msgspec.Meta(max_length=200)] = ()


class SegmentForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A rail as it lies, from end to end."""

    start: Place
    end: Place


_NOT_INFERRED: dict[str, Any] = {
    "direction": {"const": "eave"},
    **{name: {"type": "null"} for name in ("per_row", "inset", "overhang")},
}
"""What JSON Schema says of rails where nothing is told of how they are to be taken."""


class RailsForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The rails: `segments` as they lie, or how they are to be taken; what is left out comes from
    the rule set. `none` says that there are none.
    """

    also: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"properties": {"none": {"const": False}, "segments": {"type": "null"}}},
            {"properties": {"none": {"const": False}, **_NOT_INFERRED}},
            {"properties": {"segments": {"maxItems": 0}, **_NOT_INFERRED}},
        ]
    }

    none: bool = False
    segments: Annotated[tuple[SegmentForm, ...], msgspec.Meta(max_length=MOST_MODULES)] | None = (
        None
    )
    direction: Literal["eave", "slope"] = "eave"
    per_row: Annotated[int, msgspec.Meta(ge=1, le=6)] | None = None
    inset: Share | None = None
    overhang: Gap | None = None


class EdgeForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds on one edge: whether it is left open, as flush with a wall, its zone, and
    readings of the clearance there instead of those of the job.
    """

    edge: EdgeName
    open: bool | None = None
    zone: ZoneName | None = None
    clearance: Clearance | None = None


class FacingForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds on all edges that face one way, where the edge itself says nothing else."""

    facing: Facing
    open: bool | None = None
    zone: ZoneName | None = None
    clearance: Clearance | None = None


class PlaneForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One roof plane: x along the eave, y up the slope, on the plane itself.

    One without a name is called by its number, from 1.
    """

    array: ArrayForm
    name: PlaneName = ""
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[Place, ...], msgspec.Meta(max_length=500)] = ()
    edges: Annotated[tuple[EdgeForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()


class ArraysForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The arrays of one roof plane, or of several in `planes`."""

    array: ArrayForm | None = None
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[Place, ...], msgspec.Meta(max_length=500)] = ()
    edges: Annotated[tuple[EdgeForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()
    planes: Annotated[tuple[PlaneForm, ...], msgspec.Meta(max_length=50)] = ()
