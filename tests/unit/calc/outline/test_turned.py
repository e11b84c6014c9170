from __future__ import annotations

from math import cos, radians, sin

import pytest
import shapely
from gapwright.calc.outline import (
    ArrayOutline,
    DrawnShape,
    GapRules,
    Module,
    narrow_notes,
    outline_of,
)

MM = 1_000_000
RULES = GapRules(max_module_gap_nm=50_800_000)
ROUNDING_NM = 6


def turned(
    x_nm: float, y_nm: float, rotation: float, width: int = 992, height: int = 1640
) -> Module:
    """A module placed in axes that are themselves turned about the origin."""
    along, up = cos(radians(rotation)), sin(radians(rotation))
    return Module(
        x_nm=round(x_nm * along - y_nm * up),
        y_nm=round(x_nm * up + y_nm * along),
        width_nm=width * MM,
        height_nm=height * MM,
        turn_degrees=rotation,
    )


def grid(columns: int, rows: int, gap_nm: int, rotation: float) -> list[Module]:
    return [
        turned(i * (992 * MM + gap_nm), j * (1640 * MM + gap_nm), rotation)
        for i in range(columns)
        for j in range(rows)
    ]


def kinds(array: ArrayOutline) -> list[str]:
    return ["inside" if side.inside else "outside" for side in array.outer.sides]


@pytest.mark.parametrize("rotation", [1, 17.5, 30, 45, 89, 133, 251, -12])
@pytest.mark.parametrize("gap_nm", [0, 12_700_000])
def test_a_turned_grid_has_the_outline_of_the_upright_grid(rotation: float, gap_nm: int) -> None:
    outline = outline_of(grid(5, 2, gap_nm, rotation), rules=RULES)
    (array,) = outline.arrays
    assert kinds(array) == ["outside"] * 4
    upright = outline_of(grid(5, 2, gap_nm, 0), rules=RULES)
    assert outline.perimeter_nm == pytest.approx(upright.perimeter_nm, abs=4 * ROUNDING_NM)


@pytest.mark.parametrize(("columns", "rows"), [(1, 5), (4, 1), (6, 1), (2, 5), (6, 6)])
@pytest.mark.parametrize("gap_nm", [13 * MM, 50 * MM])
def test_a_grid_keeps_its_four_corners_where_rounding_gives_one_of_them_twice(
    columns: int, rows: int, gap_nm: int
) -> None:
    lost = [
        rotation
        for rotation in range(2, 180, 3)
        for array in outline_of(grid(columns, rows, gap_nm, rotation), rules=RULES).arrays
        if len(kinds(array)) != 4
    ]
    assert lost == []


def test_three_of_four_turned_modules_leave_one_inside_corner() -> None:
    modules = [each for i, each in enumerate(grid(2, 2, 12_700_000, 20)) if i != 3]
    (array,) = outline_of(modules, rules=RULES).arrays
    assert sorted(kinds(array)) == ["inside"] + ["outside"] * 5
    assert array.perimeter_nm == pytest.approx(
        2 * (2 * 992 + 2 * 1640 + 2 * 12.7) * MM, abs=6 * ROUNDING_NM
    )


def test_turned_modules_farther_apart_than_the_max_module_gap_stay_apart() -> None:
    outline = outline_of(grid(2, 1, RULES.max_module_gap_nm + 2 * ROUNDING_NM, 20), rules=RULES)
    assert len(outline.arrays) == 2
    assert {note.kind for note in narrow_notes(outline, 100 * MM, 150 * MM)} == {
        "arrays_near",
        "slot_too_narrow",
    }
    for note in narrow_notes(outline, 100 * MM, 150 * MM):
        assert note.width_nm == pytest.approx(RULES.max_module_gap_nm, rel=0.01)


def test_turned_modules_touching_at_a_corner_are_two_arrays() -> None:
    outline = outline_of(
        [turned(0, 0, 30, 1000, 1000), turned(1000 * MM, 1000 * MM, 30, 1000, 1000)], rules=RULES
    )
    assert len(outline.arrays) == 2
    assert [note.kind for note in narrow_notes(outline, 100 * MM, 150 * MM)] == [
        "touching_at_corner"
    ]


def test_a_turned_ring_keeps_its_hole() -> None:
    cells = [(i, j) for i in range(3) for j in range(3) if (i, j) != (1, 1)]
    outline = outline_of(
        [turned(i * 1000 * MM, j * 1000 * MM, 30, 1000, 1000) for i, j in cells], rules=RULES
    )
    (array,) = outline.arrays
    assert [side.inside for side in array.holes[0].sides] == [True] * 4
    assert array.outer.perimeter_nm == pytest.approx(12_000 * MM, abs=4 * ROUNDING_NM)
    assert array.holes[0].perimeter_nm == pytest.approx(4_000 * MM, abs=4 * ROUNDING_NM)
    assert narrow_notes(outline, 100 * MM, 150 * MM) == ()


def test_a_turned_module_leaves_upright_arrays_exact() -> None:
    upright = [
        Module(x_nm=i * 1_004_700_001, y_nm=7, width_nm=992 * MM, height_nm=1640 * MM)
        for i in range(3)
    ]
    alone = outline_of(upright, rules=RULES)
    both = outline_of([*upright, turned(9_000 * MM, 0, 10)], rules=RULES)
    assert alone.arrays[0].outer in [array.outer for array in both.arrays]


def test_a_turned_module_beside_an_upright_one_joins_it_and_moves_no_outer_corner() -> None:
    upright = Module(x_nm=0, y_nm=0, width_nm=1000 * MM, height_nm=1000 * MM)
    leaning = Module(
        x_nm=1020 * MM, y_nm=0, width_nm=1000 * MM, height_nm=1000 * MM, turn_degrees=-1
    )
    (array,) = outline_of([upright, leaning], rules=RULES).arrays
    points = set(array.outer.corners)
    along, down = round(1000 * MM * cos(radians(1))), round(1000 * MM * sin(radians(1)))
    assert {(0, 0), (0, 1000 * MM), (1020 * MM + along, -down)} <= points
    assert (1020 * MM, 0) in points
    (mitre,) = (point for point in points if point[1] == 1000 * MM and point[0])
    assert 1000 * MM < mitre[0] < 1020 * MM + down
    assert len(points) == 6


def test_a_wedge_between_modules_closes_as_far_as_it_is_narrow() -> None:
    upright = Module(x_nm=0, y_nm=0, width_nm=1000 * MM, height_nm=1000 * MM)
    leaning = Module(
        x_nm=1020 * MM, y_nm=0, width_nm=1000 * MM, height_nm=1000 * MM, turn_degrees=-3
    )
    outline = outline_of([upright, leaning], rules=RULES)
    (array,) = outline.arrays
    ends = [side.start for side in array.outer.sides if side.inside]
    deepest_mm = (50.8 - 20) / sin(radians(3))
    assert min(abs(y / MM - deepest_mm) for _, y in ends if y) < 150
    assert [note.kind for note in narrow_notes(outline, 100 * MM, 150 * MM)] == ["slot_too_narrow"]


def test_the_order_of_turned_modules_does_not_matter_and_moving_them_only_moves_them() -> None:
    plane = [*grid(4, 3, 12_700_000, 33), turned(8_000 * MM, 0, 12), turned(9_000 * MM, 0, 12)]
    first = outline_of(plane, rules=RULES)
    assert outline_of(plane[::-1], rules=RULES) == first
    moved = [
        Module(
            x_nm=each.x_nm + 123_456_789_012_345,
            y_nm=each.y_nm - 987_654_321_098_765,
            width_nm=each.width_nm,
            height_nm=each.height_nm,
            turn_degrees=each.turn_degrees,
        )
        for each in plane
    ]
    again = outline_of(moved, rules=RULES)
    assert [
        [(side.length_nm, side.facing) for side in array.outer.sides] for array in again.arrays
    ] == [[(side.length_nm, side.facing) for side in array.outer.sides] for array in first.arrays]


def test_a_slanted_side_takes_the_nearest_facing_and_a_rounded_length() -> None:
    exterior = ((0, 0), (4_000, 0), (1_000, 3_000), (0, 3_000))
    (array,) = outline_of([], [DrawnShape(exterior=exterior)], rules=RULES).arrays
    assert [side.facing for side in array.outer.sides] == ["eave", "ridge", "ridge", "left"]
    assert array.outer.sides[1].length_nm == 4_243
    assert kinds(array) == ["outside"] * 4


def test_a_steep_slanted_side_faces_a_side() -> None:
    exterior = ((0, 0), (4_000, 0), (3_000, 3_000), (1_000, 3_000))
    (array,) = outline_of([], [DrawnShape(exterior=exterior)], rules=RULES).arrays
    assert [side.facing for side in array.outer.sides] == ["eave", "right", "ridge", "left"]


def test_a_narrow_hole_in_a_slanted_shape_keeps_its_shape_and_is_noted() -> None:
    hole = ((300, 300), (330, 300), (330, 700), (300, 700))
    shape = DrawnShape(
        exterior=tuple((x * MM, y * MM) for x, y in ((0, 0), (2000, 0), (1000, 1000), (0, 1000))),
        holes=(tuple((x * MM, y * MM) for x, y in hole),),
    )
    outline = outline_of([], [shape], rules=RULES)
    assert outline.arrays[0].holes[0].perimeter_nm == 2 * (30 + 400) * MM
    (note,) = narrow_notes(outline, 100 * MM, 150 * MM)
    assert note.kind == "hole_too_narrow"
    assert note.width_nm == pytest.approx(30 * MM, rel=0.01)


@pytest.mark.parametrize("height", [50, 300, 900, 5000])
def test_a_drawn_triangle_keeps_its_corners_however_sharp(height: int) -> None:
    exterior = ((0, 0), (1000 * MM, 0), (0, height * MM))
    (array,) = outline_of([], [DrawnShape(exterior=exterior)], rules=RULES).arrays
    assert array.outer.corners == exterior


def test_a_sharp_notch_keeps_its_depth() -> None:
    exterior = ((0, 0), (1000, 0), (1000, 900), (510, 900), (500, 100), (490, 900), (0, 900))
    drawn = DrawnShape(exterior=tuple((x * MM, y * MM) for x, y in exterior))
    (array,) = outline_of([], [drawn], rules=RULES).arrays
    points = array.outer.corners
    assert points == drawn.exterior


def placed(x_nm: int, y_nm: int, rotation: float, sides: tuple[int, int] = (1000, 1700)) -> Module:
    """A module at a place of the roof itself; sides in millimetres."""
    width, height = sides
    return Module(
        x_nm=x_nm, y_nm=y_nm, width_nm=width * MM, height_nm=height * MM, turn_degrees=rotation
    )


def test_no_module_is_lost_where_modules_of_two_directions_join() -> None:
    row = [
        placed(4_042_456_088, 1_733_067_190, 14.311826528727032),
        placed(5_031_420_815, 1_980_266_214, 14.611826528727033),
        placed(6_019_077_935, 2_232_535_314, 14.611826528727033, (1700, 1000)),
        placed(1_369_818_492, 1_238_572_915, 14.611826528727033),
    ]
    areas = [
        shapely.Polygon(list(array.outer.corners)) for array in outline_of(row, rules=RULES).arrays
    ]
    assert sum(area.area for area in areas) == pytest.approx(4 * 1.7e18 + 0.0445e18, abs=0.001e18)


def test_an_array_round_a_place_at_which_its_corners_touch_has_a_hole_there() -> None:
    rotation, other = -42.057344124615085, -42.06734412461508
    modules = [
        placed(2_775_483_049, 2_456_482_121, other),
        placed(4_656_847_033, 3_048_486_816, rotation),
        placed(3_497_840_881, 1_736_478_502, rotation),
        placed(6_538_107_664, 3_640_819_862, other, (1700, 1000)),
        placed(8_470_119_597, 3_264_171_541, other),
    ]
    outline = outline_of(modules, rules=RULES)
    for array in outline.arrays:
        for loop in array.loops:
            places = list(loop.corners)
            assert len(set(places)) == len(places)
