"""The areas of a layout's geometry: valid by OGC and RFC 7946, whatever is laid out."""

from __future__ import annotations

from math import cos, radians, sin
from random import Random
from typing import Any

import pytest
from gapwright.calc.layout.geojson import valid_area
from shapely.geometry import shape

from tests.unit.calls.layouts import layout

SIDE_MM = 1000
CLOSED_AT_A_CORNER = [(0, 0), (1, 0), (2, 0), (0, 1), (0, 2), (1, 2), (2, 1)]
"""Cells round an open one that the outside touches at a corner: (1, 1) and (2, 2) are free."""
GRAIN_M = 0.000_001


def module(x_mm: float, y_mm: float, rotation: float = 0) -> dict[str, Any]:
    """Return a square module in axes that are themselves turned about the origin."""
    along, up = cos(radians(rotation)), sin(radians(rotation))
    x, y = x_mm * along - y_mm * up, x_mm * up + y_mm * along
    side = f"{SIDE_MM} mm"
    return {
        "x": f"{x:.6f} mm",
        "y": f"{y:.6f} mm",
        "width": side,
        "height": side,
        "rotation": rotation,
    }


def areas(**array: Any) -> list[Any]:
    """Return the areas that a layout tells of, as shapely reads them.

    They are valid, and as large as the edges of the same layout go round, to within a grain along
    all of these.
    """
    found = layout(array=array, rails={"none": True}, units="metric")
    (plane,) = found.geometry
    features = plane.features["features"]
    told = [shape(one["geometry"]) for one in features if one["properties"]["kind"] == "array"]
    assert all(area.is_valid for area in told)
    twice = sum(
        side.start.x.value * side.end.y.value - side.end.x.value * side.start.y.value
        for side in found.sides
    )
    grains = found.perimeter.value * GRAIN_M
    assert sum(area.area for area in told) == pytest.approx(twice / 2, abs=grains)
    return told


def cells(seed: int) -> list[tuple[int, int]]:
    """Return a random handful of cells, of which many touch at corners, round holes as well."""
    drawn = Random(seed)
    wide, high, share = drawn.randint(2, 6), drawn.randint(2, 6), drawn.choice((0.5, 0.65, 0.8))
    every = [(x, y) for x in range(wide) for y in range(high)]
    return [cell for cell in every if drawn.random() < share] or every[:1]


def ring(*spots: tuple[float, float]) -> list[dict[str, str]]:
    return [{"x": f"{x:f} mm", "y": f"{y:f} mm"} for x, y in spots]


@pytest.mark.parametrize("rotation", [0, 7, 30, 45, 90])
def test_an_open_place_that_the_outside_touches_at_a_corner_is_a_hole(rotation: float):
    spots = [(x * SIDE_MM, y * SIDE_MM) for x, y in CLOSED_AT_A_CORNER]
    (area,) = areas(modules=[module(x, y, rotation) for x, y in spots])
    assert area.geom_type == "Polygon"
    assert len(area.interiors) == 1
    assert area.area == pytest.approx(len(spots), abs=20 * GRAIN_M)


@pytest.mark.parametrize("rotation", [0, 13.3, 30, 60.123])
def test_the_areas_of_any_cells_are_valid_and_lose_nothing(rotation: float):
    for seed in range(60):
        spots = cells(seed)
        assert areas(modules=[module(x * SIDE_MM, y * SIDE_MM, rotation) for x, y in spots])


def test_rows_a_hair_out_of_line_are_valid_though_the_hair_is_not_told():
    for seed in range(60):
        drawn = Random(seed)
        hairs = [drawn.choice((0, 0.000_001, 0.000_3, -0.000_4)) for _ in range(6)]
        spots = [(x * SIDE_MM + hairs[y], y * SIDE_MM) for x, y in cells(seed)]
        assert areas(modules=[module(x, y) for x, y in spots])


@pytest.mark.parametrize("size", [1, 10, 1000])
@pytest.mark.parametrize("slant", [0, 1])
def test_a_hole_that_touches_a_drawn_shell_leaves_a_valid_area(size: float, slant: int):
    def sized(*spots: tuple[float, float]) -> list[dict[str, str]]:
        return ring(*((x * size, y * size) for x, y in spots))

    exterior = sized((0, 0), (10, 0), (10, 9 + slant), (3, 10), (0, 10))
    for hole in ([(10, 4), (8, 5), (8, 3)], [(0, 0), (4, 2), (2, 4)], [(5, 0), (7, 3), (4, 3)]):
        assert areas(outline=[{"exterior": exterior, "holes": [sized(*hole)]}])


def test_valid_rings_stay_as_they_are():
    rings = [[[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]], [[0, 0], [1, 2], [2, 1], [0, 0]]]
    assert valid_area(rings) == ("Polygon", rings)


def test_parts_that_only_touch_are_told_apart_and_run_anticlockwise():
    bow = [[0, 0], [1, 0], [1, 1], [2, 1], [2, 2], [1, 2], [1, 1], [0, 1], [0, 0]]
    kind, parts = valid_area([bow])
    assert kind == "MultiPolygon"
    assert sorted(len(rings) for rings in parts) == [1, 1]
    whole = shape({"type": kind, "coordinates": parts})
    assert whole.is_valid
    assert whole.area == 2
    assert all(part.exterior.is_ccw for part in whole.geoms)


def test_what_is_too_small_to_be_told_is_an_area_without_parts():
    assert valid_area([[[0, 0], [0, 0], [0, 0], [0, 0]]]) == ("MultiPolygon", [])
    hole = [[0.5, 0.5], [0.500001, 0.5], [0.5, 0.5], [0.5, 0.5]]
    kind, rings = valid_area([[[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]], hole])
    assert (kind, len(rings)) == ("Polygon", 1)


def test_a_crossing_beside_nothing_is_mended_to_what_can_be_told():
    """One of the crossings lies nearer to the axis than a coordinate that is told can."""
    crossed = [[0.4, 0], [0.8, 0], [0.3, -0.000_029], [0.4, 0.9], [-0.9, -0.000_017], [0.9, 0]]
    kind, rings = valid_area([[*crossed, crossed[0]]])
    mended = shape({"type": kind, "coordinates": rings})
    assert mended.is_valid
    assert mended.area > 0.5
