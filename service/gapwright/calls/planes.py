"""From the arrays of a request to planes that are laid out, counted and cut from rolls."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from gapwright.calc.layout.counts import Counts, WidthPlan, counts_of, plan_cuts
from gapwright.calc.layout.lay import LaidPlane, lay_out, outline_plane
from gapwright.calc.layout.plane import InferredRails, Plane, Rail, SideFacts
from gapwright.calc.layout.strips import Readings, Strip, Strips, strips_of
from gapwright.calc.outline import DrawnShape, Module, Outline, OverlapFault, Spot
from gapwright.calls.array import (
    ArrayInput,
    ArraysInput,
    BlockInput,
    FacingInput,
    PlaneInput,
    PointInput,
    RailsInput,
    SideInput,
)
from gapwright.calls.request import Path, readings_nm, refuse, roll_faults, within
from gapwright.errors import Fault, InvalidRequestError
from gapwright.facts import Attachment, Clearance
from gapwright.quantity.kinds import RollLength
from gapwright.quantity.show import MARKS_NM, System, short
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet
from gapwright.strict import unknown_name


class Planes(msgspec.Struct, frozen=True, kw_only=True):
    """The planes of a job laid out, and their strips, None if none is sized."""

    planes: tuple[LaidPlane, ...]
    strips: Strips | None

    @property
    def all_strips(self) -> tuple[Strip, ...]:
        """Return the strips that were sized, if any were."""
        return self.strips.strips if self.strips else ()

    def with_usual(self, usual_nm: Figure[Readings], rules: RuleSet) -> Planes:
        """Return the planes with other readings of the whole job.

        They are laid out again only if the strips then meet at other places.
        """
        outlines = [(one.plane, one.steps.outline) for one in self.planes]
        strips = strips_of(usual_nm, [(p, o.value) for p, o in outlines], rules)
        planes = self.planes
        if self.strips is None or strips.by_place.value != self.strips.by_place.value:
            planes = tuple(lay_out(*outline, rules, strips) for outline in outlines)
        return Planes(planes=planes, strips=strips)


class JobLayout(Planes, frozen=True, kw_only=True):
    """All planes of a job laid out, their counts, and how their rolls are cut."""

    counts: Counts
    plans: Figure[tuple[WidthPlan, ...]]


def lay(
    arrays: ArraysInput,
    clearance: Clearance | None,
    roll: RollLength | None,
    system: System,
    rules: RuleSet,
    attachment: Figure[Attachment],
    path: Path = (),
) -> JobLayout:
    """Return the layout of the arrays at a path of a request, with its counts and cut plans.

    Raises InvalidRequestError with every fault, written in the units of `system`.
    """
    faults = roll_faults(roll, system, rules)
    try:
        laid = lay_planes(arrays, Figure(readings_nm(clearance)), rules, system, attachment)
        plans = plan_cuts(laid.planes, None if faults else roll, rules, laid.strips)
    except InvalidRequestError as error:
        raise InvalidRequestError(
            [*faults, *(within(fault, path) for fault in error.faults)]
        ) from None
    refuse(faults)
    counts = counts_of(laid.planes, rules)
    return JobLayout(planes=laid.planes, strips=laid.strips, counts=counts, plans=plans)


def lay_planes(
    arrays: ArraysInput,
    usual_nm: Figure[Readings],
    rules: RuleSet,
    system: System,
    attachment: Figure[Attachment],
) -> Planes:
    """Return the planes of a request. Raises InvalidRequestError with every fault of all planes.

    `attachment` is what the channel is fixed to. `usual_nm` are the readings of the whole job,
    empty if the strip was given. Faults are in the units of `system`.
    """
    faults = _zone_faults(arrays, rules)
    outlines: list[tuple[Path, Plane, Figure[Outline]]] = []
    for path, request in arrays.all_planes():
        plane = plane_of(request, attachment)
        try:
            outlines.append((path, plane, outline_plane(plane, rules)))
        except InvalidRequestError as error:
            faults += [
                within(_for_caller(fault, request.array, system), (*path, "array"))
                for fault in error.faults
            ]
    refuse(faults)
    strips = None
    if usual_nm.value:
        strips = strips_of(usual_nm, [(plane, one.value) for _, plane, one in outlines], rules)
    planes: list[LaidPlane] = []
    for path, plane, outline in outlines:
        try:
            planes.append(lay_out(plane, outline, rules, strips))
        except InvalidRequestError as error:
            faults += [within(fault, path) for fault in error.faults]
    refuse(faults)
    return Planes(planes=tuple(planes), strips=strips)


def _zone_faults(arrays: ArraysInput, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not have."""
    problem = f"{rules.name} does not have this zone."
    return [
        Fault(
            path=(*path, *place, "zone"),
            problem=problem,
            remedy=unknown_name(one.zone, list(rules.zones)),
        )
        for path, plane in arrays.all_planes()
        for place, one in plane.by_side()
        if one.zone is not None and one.zone not in rules.zones
    ]


def plane_of(request: PlaneInput, attachment: Figure[Attachment]) -> Plane:
    """Return the facts of a plane, and what its channel is attached to."""
    array = request.array
    modules = [
        Module(
            x_nm=int(one.x),
            y_nm=int(one.y),
            width_nm=int(one.width),
            height_nm=int(one.height),
            turn_degrees=float(one.rotation),
        )
        for one in array.modules
    ]
    modules += [module for block in array.blocks for module in _modules(block)]
    return Plane(
        name=request.name,
        modules=modules,
        drawn=[
            DrawnShape(exterior=_ring(shape.exterior), holes=tuple(map(_ring, shape.holes)))
            for shape in array.outline
        ],
        rails=_rails(request.rails),
        penetrations=[_spot(place) for place in request.penetrations],
        clamps=[_spot(place) for place in request.module_clamps],
        sides={side.side: _side_facts(side) for side in request.sides},
        facings={facing.facing: _side_facts(facing) for facing in request.facings},
        attachment=attachment,
    )


def _modules(block: BlockInput) -> Iterator[Module]:
    """Yield the modules of a block, row by row."""
    portrait = block.orientation == "portrait"
    width = int(block.short_side if portrait else block.long_side)
    height = int(block.long_side if portrait else block.short_side)
    across, up = width + int(block.column_gap or 0), height + int(block.row_gap or 0)
    left, lower = int(block.x or 0), int(block.y or 0)
    for row in range(block.rows):
        for column in range(block.columns):
            yield Module(
                x_nm=left + column * across,
                y_nm=lower + row * up,
                width_nm=width,
                height_nm=height,
            )


def _ring(places: tuple[PointInput, ...]) -> tuple[Spot, ...]:
    return tuple(map(_spot, places))


def _spot(place: PointInput) -> Spot:
    return int(place.x), int(place.y)


def _side_facts(request: SideInput | FacingInput) -> SideFacts:
    return SideFacts(
        open=request.open, zone=request.zone, readings_nm=readings_nm(request.clearance)
    )


def _rails(request: RailsInput) -> list[Rail] | InferredRails | None:
    if request.none:
        return None
    if request.segments is not None:
        return [Rail(start=_spot(rail.start), end=_spot(rail.end)) for rail in request.segments]
    return InferredRails(
        direction=request.direction,
        per_row=request.per_row,
        inset=request.inset,
        overhang_nm=int(request.overhang) if request.overhang is not None else None,
    )


def _for_caller(fault: Fault, array: ArrayInput, system: System) -> Fault:
    """Return a fault of an array's geometry with the caller's paths and units."""
    path, place = _source(fault.path, array)
    problem = fault.problem
    if isinstance(fault, OverlapFault):
        other, other_place = _source(fault.other, array)
        own = f"Its module in {place}" if place else "It"
        name = "/".join(str(step) for step in other)
        name = f"the module in {other_place} of {name}" if other_place else name
        across, up = (_size(size, system) for size in (fault.across_nm, fault.up_nm))
        problem = f"{own} overlaps {name} in an area of {across} by {up}."
    return Fault(path=path, problem=problem, remedy=fault.remedy)


def _size(nm: int, system: System) -> str:
    shown = short(nm, system, "up").text
    return f"less than {shown}" if nm < MARKS_NM[system] else shown


def _source(path: Path, array: ArrayInput) -> tuple[Path, str]:
    """Return the path of the request that a module came from, and its place in its block.

    Modules of blocks are counted after the single ones, block by block and row by row.
    """
    number = int(path[1]) - len(array.modules) if path[:1] == ("modules",) else -1
    for at, block in enumerate(array.blocks):
        if 0 <= number < block.rows * block.columns:
            row, column = divmod(number, block.columns)
            return ("blocks", at), f"row {row + 1}, column {column + 1}"
        number -= block.rows * block.columns
    return path, ""
