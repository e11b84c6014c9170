"""The geometry of a layout as GeoJSON features, for any tool that draws."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec

from gapwright.calc.layout.lay import LaidPlane, LaidRun
from gapwright.calc.layout.places import along, path_on, place_on
from gapwright.calc.layout.plane import Spot
from gapwright.calc.layout.valid_area import valid_area
from gapwright.calc.outline import Loop
from gapwright.quantity.show import NM_PER_M, decimal


class PlanePicture(msgspec.Struct, frozen=True, kw_only=True):
    """The geometry of one plane as GeoJSON.

    Coordinates are meters on the roof plane (x along the eave, y up the slope), not longitude and
    latitude: the geometry objects are those of RFC 7946, the reference system is not. An array is
    a Polygon, or a MultiPolygon where it is given in parts that only touch.
    """

    plane: str
    """The name of the roof plane."""
    features: dict[str, Any]
    """A GeoJSON FeatureCollection, in meters."""


def picture(laid: LaidPlane) -> PlanePicture:
    """Return one plane as a GeoJSON feature collection, in meters on the plane."""
    features = [
        *_outlines(laid),
        *_rails(laid),
        *(feature for run in laid.runs for feature in _run(run)),
    ]
    return PlanePicture(
        plane=laid.plane.name, features={"type": "FeatureCollection", "features": features}
    )


def _feature(kind: str, geometry: str, coordinates: Any, **properties: Any) -> dict[str, Any]:  # noqa: ANN401
    return {
        "type": "Feature",
        "geometry": {"type": geometry, "coordinates": coordinates},
        "properties": {"kind": kind, **properties},
    }


def _outlines(laid: LaidPlane) -> Iterator[dict[str, Any]]:
    for array in laid.outline.arrays:
        rings = [_ring(loop) for loop in (array.outer, *array.holes)]
        yield _feature("array", *valid_area(rings))


def _ring(loop: Loop) -> list[list[float]]:
    spots = [(corner.point.x_nm, corner.point.y_nm) for corner in loop.corners]
    return [_spot(spot) for spot in (*spots, spots[0])]


def _rails(laid: LaidPlane) -> Iterator[dict[str, Any]]:
    for rail in laid.rails:
        yield _feature("rail", "LineString", [_spot(rail.start), _spot(rail.end)])


def _run(run: LaidRun) -> Iterator[dict[str, Any]]:
    placed = run.placed
    for named in run.pieces:
        piece = named.piece
        path = path_on(placed, piece.start_nm, piece.covered_nm)
        yield _feature("piece", "LineString", [_spot(s) for s in path], name=named.name)
    for side, tab in placed.tabs_by_side():
        place = _spot(along(side, tab.at_nm))
        yield _feature("tab", "Point", place, side=side.name, rail_side=tab.rail_side)
    for laid in run.returns:
        name = run.pieces[laid.made.piece].name
        yield _feature("return", "Point", _spot(laid.bend), piece=name)
    for at_nm in placed.penetrations_nm:
        yield _feature("penetration", "Point", _spot(place_on(placed, at_nm)[1]))


def _spot(spot: Spot) -> list[float]:
    return [decimal(spot[0] / NM_PER_M), decimal(spot[1] / NM_PER_M)]
