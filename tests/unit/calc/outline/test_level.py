from __future__ import annotations

from math import cos, hypot, radians, sin

import pytest
from service.calc.outline.level import levelled

from service.calc.outline import DrawnShape, GapRules, Module, Outline, outline_of

MM = 1_000_000
SIXTEENTH = 1_587_500
RULES = GapRules(
    join_gap_nm=50_800_000, hand_gap_nm=100 * MM, near_gap_nm=150 * MM, level_gap_nm=6_350_000
)
WIDE, HIGH, GAP = 1000 * MM, 1700 * MM, 20 * MM
RING = ((0, 0), (5, 0), (500, 3), (1000, 0), (1000, 997), (1000, 1000), (0, 1000))


def rounded(nm: float, to_nm: int) -> int:
    return round(nm / to_nm) * to_nm


def grid(columns: int, rows: int, turn: float, to_nm: int) -> list[Module]:
    """Modules placed in axes turned about the origin, as an export that rounds gives them."""
    along, up = cos(radians(turn)), sin(radians(turn))
    places = [(i * (WIDE + GAP), j * (HIGH + GAP)) for i in range(columns) for j in range(rows)]
    return [
        Module(
            x_nm=rounded(x * along - y * up, to_nm),
            y_nm=rounded(x * up + y * along, to_nm),
            width_nm=WIDE,
            height_nm=HIGH,
            turn_degrees=turn,
        )
        for x, y in places
    ]


def corners(outline: Outline) -> list[tuple[int, int]]:
    (array,) = outline.arrays
    return [(corner.point.x_nm, corner.point.y_nm) for corner in array.outer.corners]


@pytest.mark.parametrize("to_nm", [1_000, 100_000, 1 * MM, SIXTEENTH])
@pytest.mark.parametrize("turn", [0.01, 5, 12.5, 30, 45, -17, 77])
@pytest.mark.parametrize(("columns", "rows"), [(5, 2), (10, 4), (9, 1), (1, 9)])
def test_rounded_corners_of_a_turned_grid_leave_its_four_corners(
    columns: int, rows: int, turn: float, to_nm: int
) -> None:
    outline = outline_of(grid(columns, rows, turn, to_nm), rules=RULES)
    exact = outline_of(grid(columns, rows, turn, 1), rules=RULES)
    assert len(corners(outline)) == 4
    assert outline.perimeter_nm == pytest.approx(exact.perimeter_nm, abs=8 * to_nm)
    for here, there in zip(corners(outline), corners(exact), strict=True):
        assert hypot(here[0] - there[0], here[1] - there[1]) < to_nm


@pytest.mark.parametrize(("step_nm", "levelled_away"), [(6_300_000, True), (6_400_000, False)])
def test_what_stands_out_by_up_to_the_level_gap_is_levelled(
    step_nm: int, levelled_away: bool
) -> None:
    modules = grid(3, 1, 30, 1)
    modules[1] = Module(
        x_nm=modules[1].x_nm - round(step_nm * sin(radians(30))),
        y_nm=modules[1].y_nm + round(step_nm * cos(radians(30))),
        width_nm=WIDE,
        height_nm=HIGH,
        turn_degrees=30,
    )
    assert (len(corners(outline_of(modules, rules=RULES))) == 4) is levelled_away


def test_corners_of_upright_modules_and_of_drawn_shapes_all_stay() -> None:
    step = Module(x_nm=WIDE + GAP, y_nm=1 * MM, width_nm=WIDE, height_nm=HIGH)
    upright = outline_of([Module(x_nm=0, y_nm=0, width_nm=WIDE, height_nm=HIGH), step], rules=RULES)
    assert len(corners(upright)) == 8
    shell = tuple((x * MM, y * MM) for x, y in RING)
    drawn = outline_of([], [DrawnShape(shell=shell)], rules=RULES)
    assert set(shell) - set(corners(drawn)) == {(1000 * MM, 997 * MM)}, "straight on as it is"


def test_a_ring_keeps_what_stands_out_and_what_it_is_told_to_keep() -> None:
    assert set(levelled(RING, 4)) == {(0, 0), (1000, 0), (1000, 1000), (0, 1000)}
    assert set(levelled(RING, 2)) == {(0, 0), (500, 3), (1000, 0), (1000, 1000), (0, 1000)}
    assert set(levelled(RING, 4, {(5, 0)})) >= {(5, 0)}
    assert levelled(RING, 0) == RING


@pytest.mark.parametrize("first", range(len(RING)))
def test_it_does_not_matter_where_a_ring_begins_nor_which_way_it_runs(first: int) -> None:
    begun = RING[first:] + RING[:first]
    assert set(levelled(begun, 4)) == set(levelled(begun[::-1], 4)) == set(levelled(RING, 4))


def test_a_round_edge_is_not_eaten_up_step_by_step() -> None:
    ring = tuple(
        (round(1000 * cos(radians(turn))), round(1000 * sin(radians(turn))))
        for turn in range(0, 360, 2)
    )
    left = levelled(ring, 4)
    for here, there in zip(left, (*left[1:], left[0]), strict=True):
        middle = hypot(here[0] + there[0], here[1] + there[1]) / 2
        assert middle > 1000 - 4 - 1
    assert 24 < len(left) < 90


def test_a_ring_that_touches_itself_stays_in_order() -> None:
    ring = ((0, 0), (50, 2), (100, 0), (100, 100), (200, 100), (200, 200), (100, 200), (100, 100))
    ring = (*ring, (50, 98), (0, 100))
    assert levelled(ring, 4) == tuple(place for place in ring if place[0] != 50)
