"""The arrays of a request: modules, rails, penetrations, and settings by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Any, ClassVar, Literal

import msgspec

from gapwright.calc.outline import Facing
from gapwright.calls.request import Path, ZoneName
from gapwright.errors import Fault
from gapwright.facts import Clearance
from gapwright.quantity.kinds import Gap, ModuleSide, Position, Share

MOST_MODULES = 20_000

SideName = Annotated[
    str,
    msgspec.Meta(
        pattern="^[A-Z]{1,3}(-hole-[0-9]{1,4})?-(eave|ridge|left|right)(-[0-9]{1,5})?$(?!\n)",
        description="Name of a side as in the answer: array letter, facing, and a number if several"
        " sides face the same way.",
        examples=["A-eave", "B-left-2", "A-hole-1-ridge"],
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
    """One module: its lower left corner, its size along x and y, and its rotation."""

    x: Position
    y: Position
    width: ModuleSide
    height: ModuleSide
    rotation: Annotated[
        float,
        msgspec.Meta(
            ge=-180, le=180, description="Degrees counterclockwise about the lower left corner."
        ),
    ] = 0


class BlockForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A regular grid of modules from its lower left corner. Offsets and gaps default to zero."""

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
    """A point on the roof plane."""

    x: Position
    y: Position


Ring = Annotated[tuple[PlaceForm, ...], msgspec.Meta(min_length=3, max_length=2000)]


class OutlineForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An area given as a polygon: an exterior ring, and a ring for each hole."""

    exterior: Ring
    holes: Annotated[tuple[Ring, ...], msgspec.Meta(max_length=200)] = ()


class ArrayForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The modules on one roof plane: any mix of single modules, blocks and outlines."""

    also: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"required": [part], "properties": {part: {"minItems": 1}}}
            for part in ("modules", "blocks", "outline")
        ]
    }
    """Additions to its JSON Schema, as in `Form`."""

    modules: Annotated[tuple[ModuleForm, ...], msgspec.Meta(max_length=MOST_MODULES)] = ()
    blocks: Annotated[tuple[BlockForm, ...], msgspec.Meta(max_length=500)] = ()
    outline: Annotated[tuple[OutlineForm, ...], msgspec.Meta(max_length=200)] = ()


class SegmentForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One rail, from end to end."""

    start: PlaceForm
    end: PlaceForm


_NOT_INFERRED: dict[str, Any] = {
    "direction": {"const": "eave"},
    **{name: {"type": "null"} for name in ("per_row", "inset", "overhang")},
}
"""JSON Schema of rails without any setting for inferred rails."""


class RailsForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The rails: `segments` for actual positions, or settings for inferred rails, which default to
    the rule set. `none: true` means that there are no rails.
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
    """Settings of one side: whether it is left open, as against a wall, its zone, and its own
    clearance readings in place of those of the job.
    """

    side: SideName
    open: bool | None = None
    zone: ZoneName | None = None
    clearance: Clearance | None = None


class FacingForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Settings of all sides with one facing. Settings of a single side take precedence."""

    facing: Facing
    open: bool | None = None
    zone: ZoneName | None = None
    clearance: Clearance | None = None


class ArrayDetails(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A drawn array, if any, with its rails, penetrations and sides."""

    array: ArrayForm | None = None
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[PlaceForm, ...], msgspec.Meta(max_length=500)] = ()
    sides: Annotated[tuple[SideForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()

    def plane(self, array: ArrayForm, name: str = "") -> PlaneForm:
        """Return the roof plane of a drawn array, under a name."""
        details = ("rails", "penetrations", "sides", "facings")
        return PlaneForm(array=array, name=name, **{at: getattr(self, at) for at in details})

    def by_side(self) -> Iterator[tuple[Path, SideForm | FacingForm]]:
        """Yield the settings by side and by facing, each with its path."""
        yield from ((("sides", at), side) for at, side in enumerate(self.sides))
        yield from ((("facings", at), facing) for at, facing in enumerate(self.facings))

    def detail_faults(self, path: Path) -> list[Fault]:
        """Return a fault for each setting that contradicts or repeats another."""
        return [
            *_rail_faults(self.rails, (*path, "rails")),
            *_repeated([one.side for one in self.sides], (*path, "sides"), "side"),
            *_repeated([one.facing for one in self.facings], (*path, "facings"), "facing"),
        ]

    def details_given(self) -> list[str]:
        """Return the names of the given members that belong to a drawn array."""
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
"""JSON Schema of these members if no array is drawn."""


class PlaneForm(ArrayDetails, frozen=True, kw_only=True):
    """One roof plane: x along the eave, y up the slope, on the plane itself.

    A plane without a name is named by its number, starting at 1.
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
    """Return the faults between members of a form with arrays.

    There must be one array or a list of planes, none of them empty, and no setting may repeat or
    contradict another.
    """
    found = array_or_planes(form.array is not None, bool(form.planes), path)
    if form.array is not None:
        found += empty_faults(form.array, (*path, "array"))
    if form.planes:
        problem, remedy = (
            "This field belongs to a single plane, but planes are given.",
            "Move it into the plane.",
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
    """Return a fault unless exactly one of array and planes is given."""
    if array != planes:
        return []
    problem = "Both array and planes are given." if array else "Required field is missing."
    remedy = "Give either array or planes."
    return [Fault(path=(*path, "planes" if array else "array"), problem=problem, remedy=remedy)]


def empty_faults(array: ArrayForm, path: Path) -> list[Fault]:
    """Return a fault if an array is empty."""
    if array.modules or array.blocks or array.outline:
        return []
    remedy = "Give at least one module, block or outline."
    return [Fault(path=path, problem="The array is empty.", remedy=remedy)]


def too_many_faults(arrays: Sequence[ArrayForm], path: Path) -> list[Fault]:
    """Return a fault if the arrays have more modules than one request may lay out."""
    blocks = [block for array in arrays for block in array.blocks]
    count = sum(len(array.modules) for array in arrays)
    count += sum(block.rows * block.columns for block in blocks)
    if count <= MOST_MODULES:
        return []
    problem = f"Expected at most {MOST_MODULES} modules in one request; got {count}."
    return [Fault(path=path, problem=problem, remedy="Split the job into several requests.")]


def _named_twice(planes: Sequence[PlaneForm], path: Path) -> list[Fault]:
    """Return a fault for each plane that repeats an earlier name."""
    names = [plane.name or str(at) for at, plane in enumerate(planes, 1)]
    problem = "Duplicate plane name."
    remedy = "Give each plane its own name. A plane without a name is named by its number."
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
        problem = "none is true, but rails are given."
        names = [*(["segments"] if rails.segments else []), *inferred]
    elif rails.segments is not None:
        problem = "Both segments and settings for inferred rails are given."
        names = inferred
    for name in names:
        yield Fault(path=(*path, name), problem=problem, remedy="Remove one of the two.")
    for at, segment in enumerate(rails.segments or ()):
        if segment.start == segment.end:
            place = (*path, "segments", at)
            problem = "The rail starts and ends at the same point."
            yield Fault(path=place, problem=problem, remedy="Give two different points.")


def _repeated(names: Sequence[str], path: Path, member: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for at, name in enumerate(names):
        if name in seen:
            problem = f"Duplicate {member} {name}."
            remedy = "Combine its settings in one entry."
            yield Fault(path=(*path, at, member), problem=problem, remedy=remedy)
        seen.add(name)
