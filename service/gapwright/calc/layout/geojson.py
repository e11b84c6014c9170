"""The geometry of a layout as GeoJSON features, for any tool that draws."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import msgspec
import shapely

from gapwright.calc.layout.lay import LaidPlane, LaidRun
from gapwright.calc.layout.runs import along, path_on, place_on
from gapwright.calc.outline import Spot
from gapwright.quantity.show import NM_PER_M, decimal

Positions = list[list[float]]

_GRAINS = (0.000_001, 0.000_01)
"""What a coordinate is rounded to [m], and the coarser grain that nothing near zero falls below."""


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
        *_sides(laid),
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
        rings = [_line((*loop.corners, loop.corners[0])) for loop in array.loops]
        yield _feature("array", *valid_area(rings))


def _sides(laid: LaidPlane) -> Iterator[dict[str, Any]]:
    for side in laid.sides:
        yield _feature("side", "LineString", _line((side.start, side.end)), name=side.name)


def _rails(laid: LaidPlane) -> Iterator[dict[str, Any]]:
    for rail in laid.rails:
        yield _feature("rail", "LineString", _line((rail.start, rail.end)))


def _run(run: LaidRun) -> Iterator[dict[str, Any]]:
    placed = run.placed
    for named in run.pieces:
        piece = named.piece
        path = path_on(placed, piece.start_nm, piece.covered_nm)
        yield _feature("piece", "LineString", _line(path), name=named.name)
    for overlap in run.layout.overlaps:
        path = path_on(placed, overlap.start_nm, overlap.overlap_nm)
        side, _ = place_on(placed, overlap.end_nm)
        yield _feature("overlap", "LineString", _line(path), side=side.name)
    for side, tab in placed.tabs_by_side():
        place = _spot(along(side, tab.at_nm))
        yield _feature("tab", "Point", place, side=side.name, rail_side=tab.rail_side)
    for laid in run.returns:
        name = run.pieces[laid.made.piece].name
        yield _feature("return", "LineString", _line((laid.bend, laid.foot)), piece=name)
    for at_nm in run.clips_nm:
        side, spot = place_on(placed, at_nm)
        yield _feature("clip", "Point", _spot(spot), side=side.name)
    for at_nm in placed.penetrations_nm:
        yield _feature("penetration", "Point", _spot(place_on(placed, at_nm)[1]))


def _line(spots: Iterable[Spot]) -> Positions:
    return [_spot(spot) for spot in spots]


def _spot(spot: Spot) -> list[float]:
    return [decimal(spot[0] / NM_PER_M), decimal(spot[1] / NM_PER_M)]


def valid_area(rings: Sequence[Positions]) -> tuple[str, Any]:
    """Return the type and the coordinates of the area in a closed ring, less those of its holes.

    No ring crosses or touches itself (RFC 7946, 3.1.6; OGC 06-103r4, 6.1.11.1). `rings` are in
    meters as `decimal` gives them, and stay as they are where they are valid. Otherwise, where
    rounding made them touch or cross, those that touch themselves are cut in two, and what is
    thinner than the grain of a coordinate goes. It is a Polygon, or a MultiPolygon where it is not
    one part: parts that only touch, or nothing that has an area.
    """
    area: shapely.Geometry = shapely.Polygon(rings[0], rings[1:])
    if area.is_valid:
        return "Polygon", rings
    for grain in _GRAINS:
        mended = shapely.make_valid(area, method="structure", keep_collapsed=False)
        # with the coordinates that the answer shows
        area = shapely.transform(
            shapely.set_precision(mended, grain),
            lambda points: [[decimal(x), decimal(y)] for x, y in points],
        )
        if area.is_valid:
            break
    parts = shapely.get_parts(shapely.orient_polygons(area))
    found = [_rings(part) for part in parts if part.geom_type == "Polygon" and part.area]
    return ("Polygon", found[0]) if len(found) == 1 else ("MultiPolygon", found)


def _rings(part: shapely.Polygon) -> list[Positions]:
    return [
        [[decimal(x), decimal(y)] for x, y in ring.coords]
        for ring in (part.exterior, *part.interiors)
    ]
