"""The quick way and the plain way agree, and nothing but the shape matters."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from service.calc.outline.build import arrays_of
from service.calc.outline.check import read_shapes
from service.calc.outline.square import plain_closed, square_closed

from service.calc.outline import Box, DrawnShape, GapRules, Module, Outline, outline_of
from service.calc.outline.loops import rings_of

RULES = GapRules(join_gap_nm=3, hand_gap_nm=8, near_gap_nm=10)

Plane = list[Module]


@st.composite
def scattered(draw: st.DrawFn) -> Plane:
    """Modules of many sizes anywhere, none over another."""
    plane: Plane = []
    for _ in range(draw(st.integers(1, 14))):
        found = Module(
            x_nm=draw(st.integers(0, 40)),
            y_nm=draw(st.integers(0, 40)),
            width_nm=draw(st.integers(1, 12)),
            height_nm=draw(st.integers(1, 12)),
        )
        if not any(overlap(found, other) for other in plane):
            plane.append(found)
    return plane


@st.composite
def rows(draw: st.DrawFn) -> Plane:
    """Aligned rows, each set off from the others, with gaps and missing modules."""
    plane: Plane = []
    y_nm = 0
    for _ in range(draw(st.integers(1, 5))):
        offset, gap = draw(st.integers(0, 9)), draw(st.integers(0, 5))
        present = draw(st.lists(st.booleans(), min_size=1, max_size=6))
        plane += [
            Module(x_nm=offset + i * (6 + gap), y_nm=y_nm, width_nm=6, height_nm=9)
            for i, there in enumerate(present)
            if there
        ]
        y_nm += 9 + draw(st.integers(0, 5))
    return plane or [Module(x_nm=0, y_nm=0, width_nm=6, height_nm=9)]


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

    def box(place: Box) -> tuple[int, ...]:
        left, right = sorted((sign * (place.left_nm - x_nm), sign * (place.right_nm - x_nm)))
        return (left, place.lower_nm - y_nm, right, place.upper_nm - y_nm)

    loops = sorted(
        (
            loop.kind,
            loop.perimeter_nm,
            sorted(
                (sign * (c.point.x_nm - x_nm), c.point.y_nm - y_nm, c.kind, c.turn_degrees)
                for c in loop.corners
            ),
            sorted((facing.get(edge.facing, edge.facing), edge.length_nm) for edge in loop.edges),
        )
        for array in outline.arrays
        for loop in (array.outer, *array.holes)
    )
    notes = sorted(
        (note.kind, box(note.place), note.width_nm, note.length_nm, len(note.arrays))
        for note in outline.notes
    )
    holes = sorted((array.perimeter_nm, len(array.holes)) for array in outline.arrays)
    return outline.perimeter_nm, holes, loops, notes


@settings(max_examples=300, deadline=None)
@given(planes, st.integers(0, 6))
def test_merging_rows_first_changes_nothing(plane: Plane, join_nm: int) -> None:
    shapes, _ = read_shapes(plane, [])
    quick = square_closed(shapes, join_nm, 9, (0, 0))
    plain = plain_closed(shapes, join_nm, 9)
    assert arrays_of(rings_of(quick.region)) == arrays_of(rings_of(plain.region))
    for axis in (0, 1):
        assert sorted(quick.narrow[axis]) == sorted(plain.narrow[axis])


@settings(deadline=None)
@given(planes, st.integers(-(10**15), 10**15), st.integers(-(10**15), 10**15))
def test_moving_the_plane_moves_the_outline(plane: Plane, x_nm: int, y_nm: int) -> None:
    here = outline_of(plane, rules=RULES)
    there = outline_of(moved(plane, x_nm, y_nm), rules=RULES)
    assert as_told(there, x_nm=x_nm, y_nm=y_nm) == as_told(here)
    assert [note.arrays for note in there.notes] == [note.arrays for note in here.notes]


@settings(deadline=None)
@given(planes)
def test_mirroring_the_plane_mirrors_the_outline(plane: Plane) -> None:
    there = outline_of(mirrored(plane), rules=RULES)
    assert as_told(there, mirror=True) == as_told(outline_of(plane, rules=RULES))


@settings(deadline=None)
@given(planes, st.randoms(use_true_random=False))
def test_the_order_of_the_modules_does_not_matter(plane: Plane, shuffler: object) -> None:
    again = list(plane)
    shuffler.shuffle(again)
    assert outline_of(again, rules=RULES) == outline_of(plane, rules=RULES)


@settings(deadline=None)
@given(planes)
def test_modules_and_the_same_shapes_drawn_give_one_outline(plane: Plane) -> None:
    drawn = [
        DrawnShape(
            shell=(
                (each.x_nm, each.y_nm),
                (each.x_nm, each.y_nm + each.height_nm),
                (each.x_nm + each.width_nm, each.y_nm + each.height_nm),
                (each.x_nm + each.width_nm, each.y_nm),
            )
        )
        for each in plane
    ]
    assert outline_of([], drawn, rules=RULES) == outline_of(plane, rules=RULES)


@settings(deadline=None)
@given(planes)
def test_an_outline_drawn_again_is_the_same_outline(plane: Plane) -> None:
    rules = GapRules(join_gap_nm=0, hand_gap_nm=8, near_gap_nm=10)
    first = outline_of(plane, rules=rules)
    drawn = [
        DrawnShape(
            shell=tuple((c.point.x_nm, c.point.y_nm) for c in array.outer.corners),
            holes=tuple(
                tuple((c.point.x_nm, c.point.y_nm) for c in hole.corners) for hole in array.holes
            ),
        )
        for array in first.arrays
    ]
    assert outline_of([], drawn, rules=rules) == first


@settings(deadline=None)
@given(planes)
def test_outer_loops_turn_once_to_the_left_and_holes_once_to_the_right(plane: Plane) -> None:
    for array in outline_of(plane, rules=RULES).arrays:
        for loop in (array.outer, *array.holes):
            turns = [corner.turn_degrees for corner in loop.corners]
            assert sum(turns) == (360 if loop.kind == "outer" else -360)
            starts = [(corner.point.y_nm, corner.point.x_nm) for corner in loop.corners]
            assert starts[0] == min(starts)
            assert len(set(starts)) == len(starts)
