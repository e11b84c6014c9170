"""The arrays of a request: modules, rails, penetrations, and what is given edge by edge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Any, ClassVar, Literal

import msgspec

from gapwright.calls.request import Path, ZoneName
from gapwright.errors import Fault
from gapwright.facts import Clearance
from gapwright.quantity.kinds import Gap, ModuleSide, Position, Share

MOST_MODULES = 20_000

Facing = Literal["eave", "ridge", "left", "right"]
SideName = Annotated[
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
    rotation: Annotated[
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


class PlaceForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A place on the roof plane."""

    x: Position
    y: Position


Ring = Annotated[tuple[PlaceForm, ...], msgspec.Meta(min_length=3, max_length=2000)]


class OutlineForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An area drawn as a ring round it, with rings round its holes."""

    exterior: Ring
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

    start: PlaceForm
    end: PlaceForm


_NOT_INFERRED: dict[str, Any] = {
    "direction": {"const": "eave"},
    **{name: {"type": "null"} for name in ("per_row", "inset", "overhang")},
}
"""What JSON Schema says of rails where nothing says how they are to be inferred."""


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


class SideForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds on one edge: whether it is left open, as flush with a wall, its zone, and
    readings of the clearance there instead of those of the job.
    """

    side: SideName
    open: bool | None = None
    zone: ZoneName | None = None
    clearance: Clearance | None = None


class FacingForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds on all edges that face one way, where the edge itself says nothing else."""

    facing: Facing
    open: bool | None = None
    zone: ZoneName | None = None
    clearance: Clearance | None = None


class ArrayDetails(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An array that is drawn, if one is, and what is known of its rails, penetrations and edges."""

    array: ArrayForm | None = None
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[PlaceForm, ...], msgspec.Meta(max_length=500)] = ()
    sides: Annotated[tuple[SideForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()

    def plane(self, array: ArrayForm, name: str = "") -> PlaneForm:
        """Return the roof plane of an array that is drawn, under a name."""
        details = ("rails", "penetrations", "sides", "facings")
        return PlaneForm(array=array, name=name, **{at: getattr(self, at) for at in details})

    def by_side(self) -> Iterator[tuple[Path, SideForm | FacingForm]]:
        """Yield what is given edge by edge and by facing, each with its path."""
        yield from ((("sides", at), side) for at, side in enumerate(self.sides))
        yield from ((("facings", at), facing) for at, facing in enumerate(self.facings))

    def detail_faults(self, path: Path) -> list[Fault]:
        """Return a fault for each detail that contradicts another or repeats it."""
        return [
            *_rail_faults(self.rails, (*path, "rails")),
            *_repeated([one.side for one in self.sides], (*path, "sides"), "side"),
            *_repeated([one.facing for one in self.facings], (*path, "facings"), "facing"),
        ]

    def details_given(self) -> list[str]:
        """Return the members that say something of an array that is drawn."""
        plain = ArrayDetails()
        return [
            name
            for name in ("rails", "penetrations", "sides", "facings")
            if getattr(self, name) != getattr(plain, name)
        ]


_NO_DETAILS: dict[str, Any] = {
    "rails": {
        "properties": {
            name: {"const": value} for name, value in msgspec.structs.asdict(RailsForm()).items()
        }
    },
    **{name: {"maxItems": 0} for name in ("penetrations", "sides", "facings")},
}
"""What JSON Schema says of these members where no array is drawn."""


class PlaneForm(ArrayDetails, frozen=True, kw_only=True):
    """One roof plane: x along the eave, y up the slope, on the plane itself.

    One without a name is called by its number, from 1.
    """

    array: ArrayForm
    name: PlaneName = ""


class ArraysForm(ArrayDetails, frozen=True, kw_only=True):
    """The arrays of one roof plane, or of several in `planes`."""

    planes: Annotated[tuple[PlaneForm, ...], msgspec.Meta(max_length=50)] = ()

    def all_planes(self) -> list[tuple[Path, PlaneForm]]:
        """Return the planes under their names, each with the path that leads to it."""
        if self.array is None:
            return [
                (("planes", at), msgspec.structs.replace(plane, name=plane.name or str(at + 1)))
                for at, plane in enumerate(self.planes)
            ]
        return [((), self.plane(self.array))]


def array_or(several: str) -> dict[str, Any]:
    """Return the JSON Schema of one drawn array with its details, or several of something else."""
    return {
        "oneOf": [
            {
                "required": ["array"],
                "properties": {"array": {"type": "object"}, several: {"maxItems": 0}},
            },
            {
                "required": [several],
                "properties": {several: {"minItems": 1}, "array": {"type": "null"}, **_NO_DETAILS},
            },
        ]
    }


def arrays_faults(form: ArraysForm, path: Path = ()) -> list[Fault]:
    """Return what is wrong between the members of a form with arrays.

    There is one array or a list of planes, each with something in it, and no detail is given twice
    or contradicts another.
    """
    found = array_or_planes(form.array is not None, bool(form.planes), path)
    if form.array is not None:
        found += empty_faults(form.array, (*path, "array"))
    if form.planes:
        problem, remedy = (
            "This belongs to one plane, and planes are given.",
            "Tell it within the plane.",
        )
        found += [
            Fault(path=(*path, name), problem=problem, remedy=remedy)
            for name in form.details_given()
        ]
    else:
        found += form.detail_faults(path)
    for at, plane in enumerate(form.planes):
        found += empty_faults(plane.array, (*path, "planes", at, "array"))
        found += plane.detail_faults((*path, "planes", at))
    found += _named_twice(form.planes, path)
    arrays = [*([form.array] if form.array else []), *(plane.array for plane in form.planes)]
    return found + too_many_faults(arrays, (*path, "array" if form.array else "planes"))


def array_or_planes(array: bool, planes: bool, path: Path = ()) -> list[Fault]:
    """Return a fault unless an array or planes are given, one of the two."""
    if array != planes:
        return []
    problem = "An array and planes are given." if array else "This is missing."
    remedy = "Give the array of one plane, or planes."
    return [Fault(path=(*path, "planes" if array else "array"), problem=problem, remedy=remedy)]


def empty_faults(array: ArrayForm, path: Path) -> list[Fault]:
    """Return a fault where an array holds nothing."""
    if array.modules or array.blocks or array.outline:
        return []
    remedy = "Give modules, blocks or an outline."
    return [Fault(path=path, problem="The array is empty.", remedy=remedy)]


def too_many_faults(arrays: Sequence[ArrayForm], path: Path) -> list[Fault]:
    """Return a fault where arrays together have more modules than are laid out at once."""
    blocks = [block for array in arrays for block in array.blocks]
    count = sum(len(array.modules) for array in arrays)
    count += sum(block.rows * block.columns for block in blocks)
    if count <= MOST_MODULES:
        return []
    problem = f"There are {count} modules."
    return [Fault(path=path, problem=problem, remedy=f"Lay out at most {MOST_MODULES} at once.")]


def _named_twice(planes: Sequence[PlaneForm], path: Path) -> list[Fault]:
    """Return a fault for each plane that is called as one before it."""
    names = [plane.name or str(at) for at, plane in enumerate(planes, 1)]
    problem = "Another plane is called that."
    remedy = "Name each plane once; one without a name is called by its number."
    return [
        Fault(path=(*path, "planes", at, "name"), problem=problem, remedy=remedy)
        for at, name in enumerate(names)
        if name in names[:at]
    ]


def _rail_faults(rails: RailsForm, path: Path) -> Iterator[Fault]:
    inferred = [
        name for name in ("per_row", "inset", "overhang") if getattr(rails, name) is not None
    ]
    inferred += ["direction"] if rails.direction != "eave" else []
    problem, names = "", []
    if rails.none:
        problem = "No rails are told, and how they lie as well."
        names = [*(["segments"] if rails.segments else []), *inferred]
    elif rails.segments is not None:
        problem = "Rails are told as they lie, and how they are to be taken as well."
        names = inferred
    for name in names:
        yield Fault(path=(*path, name), problem=problem, remedy="Leave out one of them.")
    for at, segment in enumerate(rails.segments or ()):
        if segment.start == segment.end:
            place = (*path, "segments", at)
            problem = "The rail ends where it starts."
            yield Fault(path=place, problem=problem, remedy="Give both its ends.")


def _repeated(names: Sequence[str], path: Path, member: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for at, name in enumerate(names):
        if name in seen:
            problem = f"The {member} {name} is told of before."
            remedy = "Put together what holds there."
            yield Fault(path=(*path, at, member), problem=problem, remedy=remedy)
        seen.add(name)
