"""Nothing but the shape matters: not where it is, nor how it is turned, nor in which order."""

from __future__ import annotations

from math import cos, radians, sin
from random import Random

import pytest
from gapwright.calc.outline import (
    Bounds,
    DrawnShape,
    GapRules,
    Module,
    Note,
    Outline,
    narrow_notes,
    outline_of,
)
from hypothesis import example, given, settings
from hypothesis import strategies as st

UNIT = 10_000_000
"""Modules measure a few of these. What is out of line by one is, with a level gap, in line."""
RULES = [
    GapRules(
        max_module_gap_nm=3 * UNIT + 9,
        level_gap_nm=level_nm,
    )
    for level_nm in (0, UNIT + 99)
]

Plane = list[Module]
TOUCHING = [
    Module(x_nm=x * UNIT, y_nm=y * UNIT, width_nm=width * UNIT, height_nm=4 * UNIT)
    for x, y, width in ((15, 0, 12), (0, 0, 4), (32, 0, 4), (27, 3, 4))
]
"""The last touches the first, and so hides a part of its side from the third."""


def all_notes(outline: Outline) -> list[Note]:
    return sorted((*outline.notes, *narrow_notes(outline, 8 * UNIT + 9, 10 * UNIT + 9)))


def box_module(x: int, y: int, width: int, height: int) -> Module:
    return Module(x_nm=x * UNIT, y_nm=y * UNIT, width_nm=width * UNIT, height_nm=height * UNIT)


@st.composite
def scattered(draw: st.DrawFn) -> Plane:
    """Modules of many sizes anywhere, none over another."""
    plane: Plane = []
    for _ in range(draw(st.integers(1, 14))):
        found = box_module(
            *(draw(st.integers(0, 40)) for _ in "xy"), *(draw(st.integers(4, 12)) for _ in "wh")
        )
        if not any(overlap(found, other) for other in plane):
            plane.append(found)
    return plane


@st.composite
def rows(draw: st.DrawFn) -> Plane:
    """Aligned rows, each set off from the others, with gaps and missing modules."""
    plane: Plane = []
    y = 0
    for _ in range(draw(st.integers(1, 5))):
        offset, gap = draw(st.integers(0, 9)), draw(st.integers(0, 5))
        present = draw(st.lists(st.booleans(), min_size=1, max_size=6))
        plane += [
            box_module(offset + i * (6 + gap), y, 6, 9) for i, there in enumerate(present) if there
        ]
        y += 9 + draw(st.integers(0, 5))
    return plane or [box_module(0, 0, 6, 9)]


planes = st.one_of(scattered(), rows())


def overlap(one: Module, other: Module) -> bool:
    return (
        one.x_nm < other.x_nm + other.width_nm
        and other.x_nm < one.x_nm + one.width_nm
        and one.y_nm < other.y_nm + other.height_nm
        and other.y_nm < one.y_nm + one.height_nm
    )


def moved(plane: Plane, x_nm: int, y_nm: int) -> Plane:
    return [
        Module(
            x_nm=each.x_nm + x_nm,
            y_nm=each.y_nm + y_nm,
            width_nm=each.width_nm,
            height_nm=each.height_nm,
        )
        for each in plane
    ]


def mirrored(plane: Plane) -> Plane:
    return [
        Module(
            x_nm=-each.x_nm - each.width_nm,
            y_nm=each.y_nm,
            width_nm=each.width_nm,
            height_nm=each.height_nm,
        )
        for each in plane
    ]


def as_told(outline: Outline, *, x_nm: int = 0, y_nm: int = 0, mirror: bool = False) -> object:
    """Everything in an outline but the order of its arrays, moved back or mirrored back."""
    sign = -1 if mirror else 1
    facing = {"left": "right", "right": "left"} if mirror else {}

    def box(place: Bounds) -> tuple[int, ...]:
        left, right = sorted((sign * (place.left_nm - x_nm), sign * (place.right_nm - x_nm)))
        return (left, place.lower_nm - y_nm, right, place.upper_nm - y_nm)

    loops = sorted(
        (
            loop.sides[0].hole,
            loop.perimeter_nm,
            sorted(
                (sign * (side.start[0] - x_nm), side.start[1] - y_nm, side.inside)
                for side in loop.sides
            ),
            sorted((facing.get(side.facing, side.facing), side.length_nm) for side in loop.sides),
        )
        for array in outline.arrays
        for loop in array.loops
    )
    notes = sorted((note.kind, box(note.place), note.width_nm) for note in all_notes(outline))
    holes = sorted((array.perimeter_nm, len(array.holes)) for array in outline.arrays)
    return outline.perimeter_nm, holes, loops, notes


rules = st.sampled_from(RULES)
far = st.integers(-(10**15), 10**15)


@settings(deadline=None)
@given(planes, rules, far, far)
def test_moving_the_plane_moves_the_outline(
    plane: Plane, rules: GapRules, x_nm: int, y_nm: int
) -> None:
    here = outline_of(plane, rules=rules)
    there = outline_of(moved(plane, x_nm, y_nm), rules=rules)
    assert as_told(there, x_nm=x_nm, y_nm=y_nm) == as_told(here)


@settings(deadline=None)
@example(TOUCHING, RULES[1])
@given(planes, rules)
def test_mirroring_the_plane_mirrors_the_outline(plane: Plane, rules: GapRules) -> None:
    there = outline_of(mirrored(plane), rules=rules)
    assert as_told(there, mirror=True) == as_told(outline_of(plane, rules=rules))


@settings(deadline=None)
@given(planes, rules, st.sampled_from([90, 180, 270, 30, 12.5]))
def test_a_rotated_plane_has_sides_and_notes_of_the_same_lengths(
    plane: Plane, rules: GapRules, degrees: float
) -> None:
    along, up = cos(radians(degrees)), sin(radians(degrees))
    there = outline_of(
        [
            Module(
                x_nm=round(each.x_nm * along - each.y_nm * up),
                y_nm=round(each.x_nm * up + each.y_nm * along),
                width_nm=each.width_nm,
                height_nm=each.height_nm,
                turn_degrees=degrees,
            )
            for each in plane
        ],
        rules=rules,
    )
    here = outline_of(plane, rules=rules)
    assert [n.kind for n in all_notes(there)] == [n.kind for n in all_notes(here)]
    for one, other in ((widths(there), widths(here)), (lengths(there), lengths(here))):
        assert one == pytest.approx(other, abs=4)


def widths(outline: Outline) -> list[int]:
    return sorted(note.width_nm for note in all_notes(outline))


def lengths(outline: Outline) -> list[int]:
    return sorted(
        side.length_nm for array in outline.arrays for loop in array.loops for side in loop.sides
    )


@settings(deadline=None)
@given(planes, rules, st.randoms(use_true_random=False))
def test_the_order_of_the_modules_does_not_matter(
    plane: Plane, rules: GapRules, shuffler: Random
) -> None:
    again = list(plane)
    shuffler.shuffle(again)
    assert outline_of(again, rules=rules) == outline_of(plane, rules=rules)


@settings(deadline=None)
@given(planes)
def test_modules_and_the_same_shapes_drawn_give_one_outline(plane: Plane) -> None:
    drawn = [
        DrawnShape(
            exterior=(
                (each.x_nm, each.y_nm),
                (each.x_nm, each.y_nm + each.height_nm),
                (each.x_nm + each.width_nm, each.y_nm + each.height_nm),
                (each.x_nm + each.width_nm, each.y_nm),
            )
        )
        for each in plane
    ]
    assert outline_of([], drawn, rules=RULES[0]) == outline_of(plane, rules=RULES[0])


@settings(deadline=None)
@given(planes, rules)
def test_outer_loops_turn_once_to_the_left_and_holes_once_to_the_right(
    plane: Plane, rules: GapRules
) -> None:
    for array in outline_of(plane, rules=rules).arrays:
        for loop in array.loops:
            inside = sum(side.inside for side in loop.sides)
            outside = len(loop.sides) - inside
            assert outside - inside == (-4 if loop.sides[0].hole else 4)
            starts = [(y, x) for x, y in loop.corners]
            assert starts[0] == min(starts)
            assert len(set(starts)) == len(starts)
