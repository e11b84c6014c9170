from __future__ import annotations

import pytest
from gapwright.calc.outline import (
    Bounds,
    DrawnShape,
    GapRules,
    Module,
    Note,
    narrow_notes,
    outline_of,
)
from gapwright.errors import InvalidRequestError

MM = 1_000_000
RULES = GapRules(max_module_gap_nm=50 * MM)


def module(x: int, y: int, width: int = 1000, height: int = 1000) -> Module:
    return Module(x_nm=x * MM, y_nm=y * MM, width_nm=width * MM, height_nm=height * MM)


def box(left: int, lower: int, right: int, upper: int) -> Bounds:
    return Bounds(left_nm=left * MM, lower_nm=lower * MM, right_nm=right * MM, upper_nm=upper * MM)


def framed(*hole: tuple[int, int]) -> DrawnShape:
    """A plate of 2 m by 2 m with one hole."""
    exterior = tuple((x * MM, y * MM) for x, y in ((0, 0), (2000, 0), (2000, 2000), (0, 2000)))
    return DrawnShape(exterior=exterior, holes=(tuple((x * MM, y * MM) for x, y in hole),))


def notes(*shapes: Module | DrawnShape, near_mm: int = 150) -> list[Note]:
    modules = [shape for shape in shapes if isinstance(shape, Module)]
    drawn = [shape for shape in shapes if isinstance(shape, DrawnShape)]
    return list(narrow_notes(outline_of(modules, drawn, rules=RULES), 100 * MM, near_mm * MM))


def test_an_ordinary_array_gives_no_notes() -> None:
    assert notes(*(module(i * 1010, j * 1010) for i in range(4) for j in range(3))) == []


def test_a_hole_as_wide_as_a_hand_is_not_too_narrow() -> None:
    assert notes(framed((500, 500), (600, 500), (600, 1500), (500, 1500))) == []


def test_a_hole_narrower_than_a_hand_keeps_its_shape_and_is_noted() -> None:
    plate = framed((500, 500), (599, 500), (599, 1500), (500, 1500))
    (array,) = outline_of([], [plate], rules=RULES).arrays
    assert array.holes[0].perimeter_nm == 2 * (99 + 1000) * MM
    (note,) = notes(plate)
    assert (note.kind, note.width_nm) == ("hole_too_narrow", 99 * MM)
    assert note.place == box(500, 500, 599, 1500)


def test_a_bent_hole_narrow_all_along_is_one_note() -> None:
    bent = framed((500, 500), (900, 500), (900, 560), (570, 560), (570, 900), (500, 900))
    (note,) = notes(bent)
    assert (note.kind, note.width_nm) == ("hole_too_narrow", 60 * MM)


def test_a_hole_with_one_narrow_arm_has_a_slot() -> None:
    keyhole = framed(
        (500, 500),
        (900, 500),
        (900, 900),
        (730, 900),
        (730, 1300),
        (670, 1300),
        (670, 900),
        (500, 900),
    )
    (note,) = notes(keyhole)
    assert (note.kind, note.width_nm) == ("slot_too_narrow", 60 * MM)
    assert note.place == box(670, 900, 730, 1300)


def test_two_arrays_a_hand_apart_are_near_but_leave_no_slot() -> None:
    (note,) = notes(module(0, 0), module(1100, 0))
    assert (note.kind, note.width_nm) == ("arrays_near", 100 * MM)
    assert note.place == box(1000, 0, 1100, 1000)


def test_two_arrays_closer_than_a_hand_are_near_and_leave_a_slot() -> None:
    near, slot = notes(module(0, 0), module(0, 1060))
    assert (near.kind, near.width_nm) == ("arrays_near", 60 * MM)
    assert (slot.kind, slot.width_nm) == ("slot_too_narrow", 60 * MM)
    assert near.place == slot.place == box(0, 1000, 1000, 1060)


def test_arrays_exactly_the_min_array_gap_apart_are_not_near() -> None:
    assert notes(module(0, 0), module(1150, 0)) == []


def test_arrays_near_from_corner_to_corner_are_noted_whichever_way_they_lie() -> None:
    for upper_left in (1030, -1030):
        (note,) = notes(module(0, 0), module(upper_left, 1040))
        assert (note.kind, note.width_nm) == ("arrays_near", 50 * MM)
        left = min(abs(upper_left), 1000) if upper_left > 0 else -30
        assert note.place == box(left, 1000, left + 30, 1040)


def test_a_slot_into_the_side_of_one_array_is_noted() -> None:
    back = module(0, 1000, 2080, 500)
    (note,) = notes(module(0, 0), module(1080, 0), back)
    assert (note.kind, note.width_nm) == ("slot_too_narrow", 80 * MM)


def test_an_island_in_a_hole_too_close_to_its_walls_is_noted_on_each_side() -> None:
    plate = framed((500, 500), (1500, 500), (1500, 1500), (500, 1500))
    found = notes(plate, module(590, 590, 820, 820))
    assert [note.kind for note in found].count("slot_too_narrow") == 4
    assert [note.kind for note in found].count("arrays_near") == 1


def test_an_array_touching_itself_at_a_corner_is_noted() -> None:
    cells = [(i, j) for i in range(3) for j in range(3) if (i, j) not in {(1, 1), (0, 0)}]
    (note,) = notes(*(module(i * 1000, j * 1000) for i, j in cells))
    assert note.kind == "touching_at_corner"
    assert note.place == box(1000, 1000, 1000, 1000)


def test_a_hole_one_nanometre_short_of_a_hand_is_too_narrow() -> None:
    exterior = ((0, 0), (2000 * MM, 0), (2000 * MM, 2000 * MM), (0, 2000 * MM))
    right = 600 * MM - 1
    hole = ((500 * MM, 500 * MM), (right, 500 * MM), (right, 1500 * MM), (500 * MM, 1500 * MM))
    (note,) = notes(DrawnShape(exterior=exterior, holes=(hole,)))
    assert (note.kind, note.width_nm) == ("hole_too_narrow", 100 * MM - 1)


def test_a_hole_with_one_arm_as_wide_as_a_hand_is_narrow_in_the_other_arm_only() -> None:
    bent = framed((500, 500), (900, 500), (900, 560), (600, 560), (600, 900), (500, 900))
    (note,) = notes(bent)
    assert (note.kind, note.width_nm) == ("slot_too_narrow", 60 * MM)
    assert note.place == box(600, 500, 900, 560)


def test_corners_exactly_the_min_array_gap_apart_are_not_near() -> None:
    assert notes(module(0, 0), module(1090, 1120)) == []
    assert len(notes(module(0, 0), module(1090, 1119))) == 1


def test_a_slot_exactly_as_wide_as_the_min_array_gap_is_a_slot_but_not_near() -> None:
    (note,) = notes(module(0, 0), module(1060, 0), near_mm=60)
    assert note.kind == "slot_too_narrow"


def test_a_long_side_faces_each_tooth_of_a_comb_once_and_what_is_behind_not_at_all() -> None:
    teeth = [module(i * 200, 1080, 100, 500) for i in range(10)]
    found = notes(module(0, 0, 1900, 1000), *teeth, module(0, 1590, 1900, 500))
    slots = [note.width_nm for note in found if note.kind == "slot_too_narrow"]
    assert slots == [80 * MM] * 10


def test_more_arrays_near_one_another_than_can_be_looked_at_are_refused() -> None:
    tiny = [module(i % 40 * 60, i // 40 * 60, 7, 7) for i in range(1_600)]
    outline = outline_of(tiny, rules=RULES)
    with pytest.raises(InvalidRequestError) as caught:
        narrow_notes(outline, 100 * MM, 1000 * MM)
    assert "pairs of arrays" in caught.value.faults[0].problem
