"""From the wire form of a layout request to the facts of its planes."""

from __future__ import annotations

from collections.abc import Iterator

from service.calc.layout.plane import EdgeFacts, InferredRails, Plane, Rail, Spot
from service.calc.outline import DrawnShape, Module
from service.calls.array_forms import (
    ArrayForm,
    ArraysForm,
    BlockForm,
    EdgeForm,
    FacingForm,
    Place,
    PlaneForm,
    RailsForm,
)
from service.calls.layout_forms import LayoutForm

Path = tuple[str | int, ...]


def planes_of(form: LayoutForm | ArraysForm) -> list[tuple[Plane, ArrayForm, Path]]:
    """Return the planes of a request, each with its array's form and the path that leads there."""
    if form.array is not None:
        single = PlaneForm(
            array=form.array,
            rails=form.rails,
            penetrations=form.penetrations,
            edges=form.edges,
            facings=form.facings,
        )
        return [(_plane(single, ""), form.array, ("array",))]
    return [
        (_plane(plane, plane.name or str(at + 1)), plane.array, ("planes", at, "array"))
        for at, plane in enumerate(form.planes)
    ]


def _plane(form: PlaneForm, name: str) -> Plane:
    array = form.array
    modules = [
        Module(
            x_nm=int(one.x),
            y_nm=int(one.y),
            width_nm=int(one.width),
            height_nm=int(one.height),
            turn_degrees=float(one.turn),
        )
        for one in array.modules
    ]
    modules += [module for block in array.blocks for module in _modules(block)]
    return Plane(
        name=name,
        modules=modules,
        drawn=[
            DrawnShape(shell=_ring(shape.shell), holes=tuple(_ring(hole) for hole in shape.holes))
            for shape in array.outline
        ],
        rails=_rails(form.rails),
        penetrations=[_spot(place) for place in form.penetrations],
        edges={edge.edge: _facts(edge) for edge in form.edges},
        facings={facing.facing: _facts(facing) for facing in form.facings},
    )


def _modules(block: BlockForm) -> Iterator[Module]:
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


def _ring(places: tuple[Place, ...]) -> tuple[Spot, ...]:
    return tuple(_spot(place) for place in places)


def _spot(place: Place) -> Spot:
    return int(place.x), int(place.y)


def _facts(form: EdgeForm | FacingForm) -> EdgeFacts:
    readings = tuple(map(int, form.clearance.readings)) if form.clearance else ()
    return EdgeFacts(open=form.open, zone=form.zone, readings_nm=readings)


def _rails(form: RailsForm) -> list[Rail] | InferredRails | None:
    if form.none:
        return None
    if form.segments is not None:
        return [Rail(start=_spot(rail.start), end=_spot(rail.end)) for rail in form.segments]
    return InferredRails(
        direction=form.direction,
        per_row=form.per_row,
        inset=form.inset,
        overhang_nm=int(form.overhang) if form.overhang is not None else None,
    )
