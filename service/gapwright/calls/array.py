"""The arrays of a request: modules, rails, penetrations, and settings by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

import msgspec

from gapwright.calc.outline import Facing
from gapwright.calls.request import Path, ZoneName
from gapwright.errors import Fault
from gapwright.facts import Clearance
from gapwright.quantity.kinds import Gap, ModuleSide, Percentage, Position

MOST_MODULES = 20_000

Orientation = Literal["portrait", "landscape"]
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


class ModuleInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One module: its lower left corner, its size along x and y, and its rotation."""

    x: Position
    """Lower left corner, along the eave."""
    y: Position
    """Lower left corner, up the slope."""
    width: ModuleSide
    """Size along x, before rotation."""
    height: ModuleSide
    """Size along y, before rotation."""
    rotation: Annotated[float, msgspec.Meta(ge=-180, le=180)] = 0
    """Degrees counterclockwise about the lower left corner."""


class BlockInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A regular grid of modules from its lower left corner. Offsets and gaps default to zero."""

    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    """Number of rows, up the slope."""
    columns: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    """Number of columns, along the eave."""
    long_side: ModuleSide
    """Long side of a module."""
    short_side: ModuleSide
    """Short side of a module."""
    x: Position | None = None
    """Lower left corner of the block, along the eave. Default: 0 in."""
    y: Position | None = None
    """Lower left corner of the block, up the slope. Default: 0 in."""
    orientation: Orientation = "portrait"
    """`portrait`: the long side runs up the slope."""
    column_gap: Gap | None = None
    """Gap between columns. Default: 0 in."""
    row_gap: Gap | None = None
    """Gap between rows. Default: 0 in."""


class PointInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A point on the roof plane."""

    x: Position
    """Distance along the eave."""
    y: Position
    """Distance up the slope."""


Ring = Annotated[tuple[PointInput, ...], msgspec.Meta(min_length=3, max_length=2000)]


class OutlineInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An area given as a polygon: an exterior ring, and a ring for each hole."""

    exterior: Ring
    """The corners of the area, in order."""
    holes: Annotated[tuple[Ring, ...], msgspec.Meta(max_length=200)] = ()
    """The corners of each hole, in order."""


class ArrayInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The modules on one roof plane: single modules, blocks and outlines, in any mix.

    Give at least one.
    """

    modules: Annotated[tuple[ModuleInput, ...], msgspec.Meta(max_length=MOST_MODULES)] = ()
    """Single modules."""
    blocks: Annotated[tuple[BlockInput, ...], msgspec.Meta(max_length=500)] = ()
    """Regular grids of modules."""
    outline: Annotated[tuple[OutlineInput, ...], msgspec.Meta(max_length=200)] = ()
    """Areas given as polygons."""


class RailInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One rail, from end to end."""

    start: PointInput
    """One end of the rail."""
    end: PointInput
    """The other end."""


class RailsInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The rails: `segments` for actual positions, or settings for inferred rails, which default to
    the rule set. `none: true` means that there are no rails.
    """

    none: bool = False
    """Whether there are no rails at all."""
    segments: Annotated[tuple[RailInput, ...], msgspec.Meta(max_length=MOST_MODULES)] | None = None
    """The actual rails, in place of settings for inferred ones."""
    direction: Literal["eave", "slope"] = "eave"
    """Whether inferred rails run along the eave or up the slope."""
    per_row: Annotated[int, msgspec.Meta(ge=1, le=6)] | None = None
    """Number of inferred rails for each row of modules. Default: by the rule set."""
    inset: Percentage | None = None
    """Distance of an inferred rail from the edge of its module, in percent of the module. Default:
    by the rule set.
    """
    overhang: Gap | None = None
    """Length of an inferred rail beyond the last module. Default: by the rule set."""


class SideInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Settings of one side: whether it is left open (such as against a wall), its zone, and
    clearance readings that replace those of the job.
    """

    side: SideName
    """The name of the side."""
    open: bool | None = None
    """Whether the side has no barrier, such as against a wall. Default: as its facing."""
    zone: ZoneName | None = None
    """The zone of the rule set that the side is in. Default: as its facing."""
    clearance: Clearance | None = None
    """Readings at this side, in place of those of its facing or of the job."""


class FacingInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Settings of all sides with one facing. Settings of a single side take precedence."""

    facing: Facing
    """The facing of the sides, as seen from the eave."""
    open: bool | None = None
    """Whether the sides are left without a barrier, such as against a wall. Default: false."""
    zone: ZoneName | None = None
    """The zone of the rule set that the sides are in. Default: standard."""
    clearance: Clearance | None = None
    """Readings at these sides, in place of those of the job."""


_DETAILS = ("rails", "penetrations", "module_clamps", "sides", "facings")
"""The settings of a drawn array."""


class ArrayDetails(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A drawn array, if any, with its rails, penetrations and sides."""

    array: ArrayInput | None = None
    """The drawn array: its modules, blocks and outlines."""
    rails: RailsInput = RailsInput()
    """Where the rails are. Left out: rails are inferred by the rule set."""
    penetrations: Annotated[tuple[PointInput, ...], msgspec.Meta(max_length=500)] = ()
    """Conduits, pipes and vents at or near the edge of the array, each by its center."""
    module_clamps: Annotated[tuple[PointInput, ...], msgspec.Meta(max_length=2000)] = ()
    """Wire clips and module clamps at the edge, which frame clips stay clear of."""
    sides: Annotated[tuple[SideInput, ...], msgspec.Meta(max_length=2000)] = ()
    """Settings of single sides."""
    facings: Annotated[tuple[FacingInput, ...], msgspec.Meta(max_length=4)] = ()
    """Settings of all sides with one facing."""

    def plane(self, array: ArrayInput, name: str = "") -> PlaneInput:
        """Return the roof plane of a drawn array, under a name."""
        return PlaneInput(array=array, name=name, **{at: getattr(self, at) for at in _DETAILS})

    def by_side(self) -> Iterator[tuple[Path, SideInput | FacingInput]]:
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
        return [name for name in _DETAILS if getattr(self, name) != getattr(plain, name)]


class PlaneInput(ArrayDetails, frozen=True, kw_only=True):
    """One roof plane: x along the eave, y up the slope, on the plane itself.

    A plane without a name is named by its number, starting at 1.
    """

    array: ArrayInput
    """The drawn array: at least one module, block or outline."""
    name: PlaneName = ""
    """Name of the roof plane. Left out: its number, starting at 1."""


class ArraysInput(ArrayDetails, frozen=True, kw_only=True):
    """The arrays of one roof plane, or of several.

    Give exactly one of `array` and `planes`. Each of the `planes` has its own `rails`,
    `penetrations`, `sides` and `facings`.
    """

    planes: Annotated[tuple[PlaneInput, ...], msgspec.Meta(max_length=50)] = ()
    """Several roof planes, in place of `array` and its details."""

    def all_planes(self) -> list[tuple[Path, PlaneInput]]:
        """Return the planes under their names, each with the path that leads to it."""
        if self.array is None:
            return [
                (("planes", at), msgspec.structs.replace(plane, name=plane.name or str(at + 1)))
                for at, plane in enumerate(self.planes)
            ]
        return [((), self.plane(self.array))]


def arrays_faults(request: ArraysInput, path: Path = ()) -> list[Fault]:
    """Return the faults between members of a request with arrays.

    There must be one array or a list of planes, none of them empty, and no setting may repeat or
    contradict another.
    """
    found = array_or_planes(request.array is not None, bool(request.planes), path)
    if request.array is not None:
        found += empty_faults(request.array, (*path, "array"))
    if request.planes:
        problem, remedy = (
            "This field belongs to a single plane, but planes are given.",
            "Move it into the plane.",
        )
        found += [
            Fault(path=(*path, name), problem=problem, remedy=remedy)
            for name in request.details_given()
        ]
    else:
        found += request.detail_faults(path)
    for at, plane in enumerate(request.planes):
        found += empty_faults(plane.array, (*path, "planes", at, "array"))
        found += plane.detail_faults((*path, "planes", at))
    found += _named_twice(request.planes, path)
    arrays = [
        *([request.array] if request.array else []),
        *(plane.array for plane in request.planes),
    ]
    return found + too_many_faults(arrays, (*path, "array" if request.array else "planes"))


def array_or_planes(array: bool, planes: bool, path: Path = ()) -> list[Fault]:
    """Return a fault unless exactly one of array and planes is given."""
    if array != planes:
        return []
    problem = "Both array and planes are given." if array else "This required field is missing."
    remedy = "Give either array or planes."
    return [Fault(path=(*path, "planes" if array else "array"), problem=problem, remedy=remedy)]


def empty_faults(array: ArrayInput, path: Path) -> list[Fault]:
    """Return a fault if an array is empty."""
    if array.modules or array.blocks or array.outline:
        return []
    remedy = "Give at least one module, block or outline."
    return [Fault(path=path, problem="The array is empty.", remedy=remedy)]


def too_many_faults(arrays: Sequence[ArrayInput], path: Path) -> list[Fault]:
    """Return a fault if the arrays have more modules than one request may lay out."""
    blocks = [block for array in arrays for block in array.blocks]
    count = sum(len(array.modules) for array in arrays)
    count += sum(block.rows * block.columns for block in blocks)
    if count <= MOST_MODULES:
        return []
    problem = f"Expected at most {MOST_MODULES} modules in one request; got {count}."
    return [Fault(path=path, problem=problem, remedy="Split the job into several requests.")]


def _named_twice(planes: Sequence[PlaneInput], path: Path) -> list[Fault]:
    """Return a fault for each plane that repeats an earlier name."""
    names = [plane.name or str(at) for at, plane in enumerate(planes, 1)]
    problem = "Duplicate plane name."
    remedy = "Give each plane its own name. A plane without a name is named by its number."
    return [
        Fault(path=(*path, "planes", at, "name"), problem=problem, remedy=remedy)
        for at, name in enumerate(names)
        if name in names[:at]
    ]


def _rail_faults(rails: RailsInput, path: Path) -> Iterator[Fault]:
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
