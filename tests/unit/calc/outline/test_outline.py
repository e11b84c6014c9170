from __future__ import annotations

import pytest
from gapwright.calc.outline import (
    DrawnShape,
    GapRules,
    Loop,
    Module,
    Outline,
    narrow_notes,
    outline_of,
)
from hypothesis import given, settings
from hypothesis import strategies as st

MM = 1_000_000
RULES = GapRules(max_module_gap_nm=50_800_000)


def module(x: int, y: int, width: int = 1000, height: int = 1600, rotation: float = 0.0) -> Module:
    """A module in whole millimetres."""
    return Module(
        x_nm=x * MM, y_nm=y * MM, width_nm=width * MM, height_nm=height * MM, turn_degrees=rotation
    )


def corners(loop: Loop) -> list[tuple[float, float]]:
    return [(x / MM, y / MM) for x, y in loop.corners]


def only_loop(outline: Outline) -> list[tuple[float, float]]:
    (array,) = outline.arrays
    assert array.holes == ()
    return corners(array.outer)


def test_one_module_has_four_sides_facing_eave_right_ridge_left() -> None:
    (array,) = outline_of([module(0, 0)], rules=RULES).arrays
    assert [side.facing for side in array.outer.sides] == ["eave", "right", "ridge", "left"]
    assert [side.length_nm // MM for side in array.outer.sides] == [1000, 1600, 1000, 1600]
    assert [side.name for side in array.outer.sides] == ["A-eave", "A-right", "A-ridge", "A-left"]
    assert not any(side.inside for side in array.outer.sides)
    assert array.perimeter_nm == 5200 * MM


def test_each_side_runs_from_its_corner_to_the_next() -> None:
    loop = outline_of([module(0, 0), module(1000, 300)], rules=RULES).arrays[0].outer
    assert [side.end for side in loop.sides] == [*loop.corners[1:], loop.corners[0]]


def test_sides_that_face_the_same_way_are_numbered_in_order() -> None:
    array, other = outline_of(
        [module(0, 0), module(1000, 300), module(9000, 100)], rules=RULES
    ).arrays
    assert [side.name for side in array.outer.sides] == [
        "A-eave-1",
        "A-right-1",
        "A-eave-2",
        "A-right-2",
        "A-ridge-1",
        "A-left-1",
        "A-ridge-2",
        "A-left-2",
    ]
    assert other.outer.sides[0].name == "B-eave"


def test_gaps_between_modules_close_to_the_straight_outer_line() -> None:
    across, up, gap = 992 * MM, 1640 * MM, 12_700_000
    modules = [
        Module(x_nm=i * (across + gap), y_nm=j * (up + gap), width_nm=across, height_nm=up)
        for i in range(5)
        for j in range(2)
    ]
    outline = outline_of(modules, rules=RULES)
    assert len(outline.arrays[0].outer.corners) == 4
    assert outline.perimeter_nm == 2 * (5 * across + 4 * gap + 2 * up + gap)


def test_a_gap_of_exactly_the_max_module_gap_joins_and_one_more_does_not() -> None:
    join = RULES.max_module_gap_nm
    first = Module(x_nm=0, y_nm=0, width_nm=1000 * MM, height_nm=1600 * MM)
    for extra, arrays in ((0, 1), (1, 2)):
        second = Module(x_nm=1000 * MM + join + extra, y_nm=0, width_nm=MM, height_nm=MM)
        assert len(outline_of([first, second], rules=RULES).arrays) == arrays


def test_three_of_four_modules_leave_one_inside_corner_where_the_gaps_cross() -> None:
    modules = [module(0, 0), module(1020, 0), module(0, 1630)]
    assert only_loop(outline_of(modules, rules=RULES)) == [
        (0, 0),
        (2020, 0),
        (2020, 1600),
        (1000, 1600),
        (1000, 3230),
        (0, 3230),
    ]


def test_a_staggered_neighbour_closes_only_where_the_two_face_each_other() -> None:
    modules = [module(0, 0), module(1020, 300)]
    assert only_loop(outline_of(modules, rules=RULES)) == [
        (0, 0),
        (1000, 0),
        (1000, 300),
        (2020, 300),
        (2020, 1900),
        (1020, 1900),
        (1020, 1600),
        (0, 1600),
    ]


def test_a_notch_as_wide_as_a_module_stays_open() -> None:
    row = [module(i * 1020, 0) for i in range(3)]
    loop = only_loop(outline_of([*row, module(0, 1620), module(2040, 1620)], rules=RULES))
    assert len(loop) == 8
    assert (1000, 1600) in loop
    assert (2040, 1600) in loop


def test_a_hole_runs_clockwise_and_its_sides_face_into_it() -> None:
    ring = [module(i * 1000, j * 1600) for i in range(3) for j in range(3) if (i, j) != (1, 1)]
    (array,) = outline_of(ring, rules=RULES).arrays
    (hole,) = array.holes
    assert corners(hole) == [(1000, 1600), (1000, 3200), (2000, 3200), (2000, 1600)]
    assert [side.facing for side in hole.sides] == ["right", "eave", "left", "ridge"]
    assert all(side.inside and side.hole for side in hole.sides)
    assert [side.name for side in hole.sides[:2]] == ["A-hole-1-right", "A-hole-1-eave"]


def test_an_array_in_the_hole_of_another_is_an_array_of_its_own() -> None:
    cells = [(i, j) for i in range(5) for j in range(5) if {i, j} & {0, 4} or i == j == 2]
    outline = outline_of([module(i * 1000, j * 1600) for i, j in cells], rules=RULES)
    assert [len(array.holes) for array in outline.arrays] == [1, 0]


def test_two_modules_touching_at_a_corner_are_two_arrays() -> None:
    outline = outline_of([module(0, 0), module(1000, 1600)], rules=RULES)
    assert [len(array.outer.corners) for array in outline.arrays] == [4, 4]
    assert [note.kind for note in narrow_notes(outline, 100 * MM, 150 * MM)] == [
        "touching_at_corner"
    ]


def test_a_hole_that_touches_the_outside_at_a_corner_stays_a_hole() -> None:
    cells = [(i, j) for i in range(3) for j in range(3) if (i, j) not in {(1, 1), (0, 0)}]
    (array,) = outline_of([module(i * 1000, j * 1600) for i, j in cells], rules=RULES).arrays
    assert len(array.outer.corners) == 6
    assert len(array.holes) == 1


def test_two_holes_touching_at_a_corner_are_two_holes() -> None:
    cells = [(i, j) for i in range(4) for j in range(4) if (i, j) not in {(1, 1), (2, 2)}]
    (array,) = outline_of([module(i * 1000, j * 1600) for i, j in cells], rules=RULES).arrays
    assert [len(hole.corners) for hole in array.holes] == [4, 4]


@pytest.mark.parametrize(
    ("rotation", "left", "lower"),
    [(90, -1600, 0), (180, -1000, -1600), (270, 0, -1000), (-90, 0, -1000), (360, 0, 0)],
)
def test_a_quarter_turn_is_exact(rotation: float, left: int, lower: int) -> None:
    loop = only_loop(outline_of([module(0, 0, rotation=rotation)], rules=RULES))
    assert loop[0] == (left, lower)
    assert {abs(x) for x, _ in loop} | {abs(y) for _, y in loop} == {0, 1000, 1600}


def test_a_drawn_shape_joins_the_modules_beside_it() -> None:
    drawn = DrawnShape(exterior=((0, 0), (0, 1600 * MM), (1000 * MM, 1600 * MM), (1000 * MM, 0)))
    outline = outline_of([module(1020, 0)], [drawn], rules=RULES)
    assert only_loop(outline) == [(0, 0), (2020, 0), (2020, 1600), (0, 1600)]


def test_a_slot_drawn_narrower_than_the_max_module_gap_stays_and_is_noted() -> None:
    exterior = tuple(
        (x * MM, y * MM)
        for x, y in [
            (0, 0),
            (3000, 0),
            (3000, 1600),
            (1020, 1600),
            (1020, 600),
            (1000, 600),
            (1000, 1600),
            (0, 1600),
        ]
    )
    outline = outline_of([module(3020, 0)], [DrawnShape(exterior=exterior)], rules=RULES)
    assert len(only_loop(outline)) == 8
    (note,) = narrow_notes(outline, 100 * MM, 150 * MM)
    assert (note.kind, note.width_nm) == ("slot_too_narrow", 20 * MM)
    assert note.place.upper_nm - note.place.lower_nm == 1000 * MM


def test_points_along_a_straight_side_are_no_corners() -> None:
    exterior = ((0, 0), (5, 0), (10, 0), (10, 10), (10, 10), (0, 10), (0, 0))
    assert len(only_loop(outline_of([], [DrawnShape(exterior=exterior)], rules=RULES))) == 4


@settings(deadline=None)
@given(
    rows=st.integers(1, 4),
    columns=st.integers(1, 4),
    column_gap=st.integers(0, 6),
    row_gap=st.integers(0, 6),
)
def test_a_full_grid_has_the_perimeter_of_its_blocks(
    rows: int, columns: int, column_gap: int, row_gap: int
) -> None:
    wide, high, join = 900, 1400, 3
    modules = [
        module(i * (wide + column_gap), j * (high + row_gap), wide, high)
        for i in range(columns)
        for j in range(rows)
    ]
    across = 1 if column_gap <= join else columns
    up = 1 if row_gap <= join else rows
    width = columns * wide + (columns - 1) * column_gap * (across == 1)
    height = rows * high + (rows - 1) * row_gap * (up == 1)
    rules = GapRules(max_module_gap_nm=join * MM)
    assert outline_of(modules, rules=rules).perimeter_nm == 2 * (width * up + height * across) * MM


def test_gaps_join_whatever_the_hand_and_near_gaps_are() -> None:
    rules = GapRules(max_module_gap_nm=20 * MM)
    assert len(outline_of([module(0, 0), module(1020, 300)], rules=rules).arrays) == 1


def test_a_thing_in_a_drawn_slot_narrower_than_the_max_module_gap_closes_the_slot() -> None:
    outer = [(0, 0), (3000, 0), (3000, 1600), (1040, 1600)]
    inner = [(1040, 600), (1000, 600), (1000, 1600), (0, 1600)]
    drawn = DrawnShape(exterior=tuple((x * MM, y * MM) for x, y in outer + inner))
    outline = outline_of([module(1010, 650, 20, 950)], [drawn], rules=RULES)
    assert only_loop(outline) == [(0, 0), (3000, 0), (3000, 1600), (0, 1600)]
