"""The wire forms of a layout request: arrays, rails, penetrations and what holds edge by edge."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

import msgspec

from service.calls.forms import Form, ZoneName
from service.errors import Fault
from service.facts import Clearance
from service.quantity.kinds import Gap, ModuleSide, Position, RollLength, Share

MOST_MODULES = 20_000

Path = tuple[str | int, ...]

ARRAY_OR_PLANES: dict[str, Any] = {
    "oneOf": [
        {
            "required": ["array"],
            "properties": {"array": {"type": "object"}, "planes": {"maxItems": 0}},
        },
        {
            "required": ["planes"],
            "properties": {"planes": {"minItems": 1}, "array": {"type": "null"}},
        },
    ]
}
"""What the JSON Schema of a form with arrays says beyond its members."""

Facing = Literal["eave", "ridge", "left", "right"]
EdgeName = Annotated[
    str,
    msgspec.Meta(
        pattern="^[A-Z]{1,3}(-hole-[0-9]{1,4}-)?[0-9]{1,5}$",
        description="The name of an edge, as an answer gives it: array letter and number.",
        examples=["A1", "B3", "A-hole-1-2"],
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

    modules: Annotated[tuple[ModuleForm, ...], msgspec.Meta(max_length=MOST_MODULES)] = ()
    blocks: Annotated[tuple[BlockForm, ...], msgspec.Meta(max_length=500)] = ()
    outline: Annotated[tuple[OutlineForm, ...], msgspec.Meta(max_length=200)] = ()


class SegmentForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A rail as it lies, from end to end."""

    start: Place
    end: Place


class RailsForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The rails: `segments` as they lie, or how they are to be taken; what is left out comes from
    the rule set. `none` says that there are none.
    """

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
    name: Annotated[str, msgspec.Meta(pattern="^[A-Za-z0-9 _-]{0,40}$")] = ""
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


class LayoutForm(Form, frozen=True, kw_only=True):
    """Lay the channel out round the arrays of one roof plane, or of several in `planes`."""

    also: ClassVar[dict[str, Any]] = ARRAY_OR_PLANES

    clearance: Clearance
    array: ArrayForm | None = None
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[Place, ...], msgspec.Meta(max_length=500)] = ()
    edges: Annotated[tuple[EdgeForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()
    planes: Annotated[tuple[PlaneForm, ...], msgspec.Meta(max_length=50)] = ()
    roll_length: RollLength | None = None

    def faults(self) -> list[Fault]:
        """Return a fault unless there is one array or a list of planes, each with something."""
        return array_faults(self)


def array_faults(form: LayoutForm | ArraysForm, path: Path = ()) -> list[Fault]:
    """Return a fault unless there is one array or a list of planes, each with something."""
    found = []
    if (form.array is None) == (not form.planes):
        both = form.array is not None
        problem = "An array and planes are given." if both else "This is missing."
        remedy = "Give the array of one plane, or planes."
        place = (*path, "planes" if both else "array")
        found.append(Fault(path=place, problem=problem, remedy=remedy))
    if form.array is not None:
        found += _empty(form.array, (*path, "array"))
    for at, plane in enumerate(form.planes):
        found += _empty(plane.array, (*path, "planes", at, "array"))
    return found + _named_twice(form.planes, path) + _too_many(form, path)


def _named_twice(planes: tuple[PlaneForm, ...], path: Path) -> list[Fault]:
    """Return a fault for each plane that is called as one before it."""
    names = [plane.name or str(at) for at, plane in enumerate(planes, 1)]
    problem = "Another plane is called that."
    remedy = "Name each plane once; one without a name is called by its number."
    return [
        Fault(path=(*path, "planes", at, "name"), problem=problem, remedy=remedy)
        for at, name in enumerate(names)
        if name in names[:at]
    ]


def _empty(array: ArrayForm, path: Path) -> list[Fault]:
    """Return a fault where an array holds nothing."""
    if _count(array) or array.outline:
        return []
    remedy = "Give modules, blocks or an outline."
    return [Fault(path=path, problem="The array is empty.", remedy=remedy)]


def _too_many(form: LayoutForm | ArraysForm, path: Path) -> list[Fault]:
    """Return a fault where all planes together have more modules than are laid out at once."""
    arrays = [*([form.array] if form.array else []), *(plane.array for plane in form.planes)]
    count = sum(_count(array) for array in arrays)
    if count <= MOST_MODULES:
        return []
    place = (*path, "array" if form.array else "planes")
    problem = f"There are {count} modules."
    return [Fault(path=place, problem=problem, remedy=f"Lay out at most {MOST_MODULES} at once.")]


def _count(array: ArrayForm) -> int:
    return len(array.modules) + sum(block.rows * block.columns for block in array.blocks)
