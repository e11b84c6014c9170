"""Modules that are turned alike have the outline that they have upright, turned."""

from __future__ import annotations

from math import cos, hypot, radians, sin
from random import Random

import pytest
from gapwright.calc.outline import GapRules, Module, NoteKind, Outline, narrow_notes, outline_of

MM = 1_000_000
RULES = GapRules(
    max_module_gap_nm=50_800_000,
    level_gap_nm=6_350_000,
)
WIDE, HIGH = 1000 * MM, 1700 * MM
TURNS = [5, 12.5, 30, 45, -17.3, 63.21, 88, 133]
Cells = list[tuple[int, int]]


def modules(cells: Cells, rotation: float, gap_nm: int, to_nm: int = 1) -> list[Module]:
    """Modules in the cells of a grid that is turned about the origin, their corners rounded.

    Each fourth one is told by another of its corners, as a quarter more or less of a turn.
    """
    along, up = cos(radians(rotation)), sin(radians(rotation))
    found = []
    for number, (row, column) in enumerate(cells):
        x, y = column * (WIDE + gap_nm), row * (HIGH + gap_nm)
        sides, quarter = (WIDE, HIGH), 0
        if number % 4 == 3:
            x, sides, quarter = x + WIDE, (HIGH, WIDE), 90
        found.append(
            Module(
                x_nm=round((x * along - y * up) / to_nm) * to_nm,
                y_nm=round((x * up + y * along) / to_nm) * to_nm,
                width_nm=sides[0],
                height_nm=sides[1],
                turn_degrees=rotation + quarter,
            )
        )
    return found


def some_cells(seed: int) -> Cells:
    chance = Random(seed)
    rows, columns = chance.randint(2, 5), chance.randint(2, 5)
    cells = [(i, j) for i in range(rows) for j in range(columns) if chance.random() < 0.75]
    return cells or [(0, 0)]


def told(outline: Outline) -> tuple[list[tuple[bool, ...]], set[NoteKind]]:
    """Return the kinds of corners of each loop, and of what is noted; their order may differ."""
    corners = sorted(tuple(sorted(side.inside for side in loop.sides)) for loop in outline.loops)
    return corners, {note.kind for note in narrow_notes(outline, 101_600_000, 304_800_000)}


def lengths(outline: Outline) -> list[int]:
    return sorted(side.length_nm for array in outline.arrays for side in array.outer.sides)


@pytest.mark.parametrize("rotation", TURNS)
@pytest.mark.parametrize("gap_nm", [0, 13 * MM, 50 * MM, 60 * MM])
def test_they_have_the_corners_and_the_notes_of_the_same_modules_upright(
    gap_nm: int, rotation: float
) -> None:
    for seed in range(12):
        cells = some_cells(seed)
        upright = outline_of(modules(cells, 0, gap_nm), rules=RULES)
        leaning = outline_of(modules(cells, rotation, gap_nm), rules=RULES)
        assert told(leaning) == told(upright), seed
        assert leaning.perimeter_nm == pytest.approx(upright.perimeter_nm, abs=1_000)
        lengths = [
            sorted(e.length_nm for a in o.arrays for e in a.outer.sides) for o in (leaning, upright)
        ]
        assert lengths[0] == pytest.approx(lengths[1], abs=4)


@pytest.mark.parametrize("to_nm", [1_000, 100_000, MM])
@pytest.mark.parametrize("rotation", TURNS)
def test_rounded_corners_change_neither_how_many_corners_there_are_nor_where(
    rotation: float, to_nm: int
) -> None:
    for seed in range(12):
        cells = some_cells(seed)
        exact = outline_of(modules(cells, rotation, 20 * MM), rules=RULES)
        rough = outline_of(modules(cells, rotation, 20 * MM, to_nm), rules=RULES)
        assert told(rough) == told(exact), seed
        places = [corner for array in exact.arrays for corner in array.outer.corners]
        for array in rough.arrays:
            for x, y in array.outer.corners:
                near = min(hypot(x - u, y - v) for u, v in places)
                assert near < 2 * to_nm, seed


def test_corners_of_modules_are_theirs_to_a_nanometer() -> None:
    (array,) = outline_of(modules([(0, 0), (0, 1)], 30, 13 * MM), rules=RULES).arrays
    first = (0, 0)
    along, up = cos(radians(30)), sin(radians(30))
    upper_left = (round(-HIGH * up), round(HIGH * along))
    places = set(array.outer.corners)
    for x, y in (first, upper_left):
        assert min(hypot(u - x, v - y) for u, v in places) < 2


def test_the_order_of_the_modules_does_not_matter() -> None:
    cells = modules([(0, 0), (0, 1), (1, 1), (1, 2), (2, 0)], 12.5, 13 * MM, MM)
    assert outline_of(cells[::-1], rules=RULES) == outline_of(cells, rules=RULES)
