from __future__ import annotations

from math import cos, radians, sin

import pytest
from gapwright.calc.outline import DrawnShape, GapRules, Module, outline_of
from gapwright.errors import Fault, InvalidRequestError

MM = 1_000_000
RULES = GapRules(max_module_gap_nm=50 * MM)
SQUARE = ((0, 0), (1000 * MM, 0), (1000 * MM, 1000 * MM), (0, 1000 * MM))


def module(x_nm: int, y_nm: int, width_nm: int = 1000 * MM, rotation: float = 0.0) -> Module:
    return Module(
        x_nm=x_nm, y_nm=y_nm, width_nm=width_nm, height_nm=1600 * MM, turn_degrees=rotation
    )


def ring(
    *points: tuple[int, int], holes: tuple[tuple[tuple[int, int], ...], ...] = ()
) -> DrawnShape:
    return DrawnShape(exterior=points, holes=holes)


def faults(*shapes: Module | DrawnShape, rules: GapRules = RULES) -> tuple[Fault, ...]:
    modules = [shape for shape in shapes if isinstance(shape, Module)]
    drawn = [shape for shape in shapes if isinstance(shape, DrawnShape)]
    with pytest.raises(InvalidRequestError) as caught:
        outline_of(modules, drawn, rules=rules)
    return caught.value.faults


def pointers(*shapes: Module | DrawnShape) -> list[str]:
    return [fault.pointer for fault in faults(*shapes)]


def leveled(level_nm: int) -> GapRules:
    return GapRules(max_module_gap_nm=50 * MM, level_gap_nm=level_nm)


@pytest.mark.parametrize("rotation", [0, 30, 90])
def test_modules_overlap_where_it_is_deeper_than_the_level_gap(rotation: float) -> None:
    along, up = cos(radians(rotation)), sin(radians(rotation))

    def pair(into_nm: int) -> list[Module]:
        away = 1000 * MM - into_nm
        return [
            module(0, 0, rotation=rotation),
            module(round(away * along), round(away * up), rotation=rotation),
        ]

    (fault,) = faults(*pair(6 * MM + 10), rules=leveled(6 * MM))
    assert fault.path == ("modules", 1)
    assert "modules/0" in fault.problem
    outline = outline_of(pair(6 * MM - 10), rules=leveled(6 * MM))
    assert len(outline.arrays[0].outer.corners) == 4
    (note,) = outline.notes
    assert note.kind == "overlap_within_rounding"
    assert note.width_nm == pytest.approx(6 * MM - 10, abs=3)


def test_without_a_level_gap_a_few_nanometers_are_rounding() -> None:
    assert not outline_of([module(0, 0), module(1000 * MM - 3, 0)], rules=RULES).notes
    (fault,) = faults(module(0, 0), module(1000 * MM - 4, 0))
    assert (fault.across_nm, fault.up_nm) == (4, 1600 * MM)


def test_touching_modules_do_not_overlap() -> None:
    assert outline_of([module(0, 0), module(1000 * MM, 0)], rules=RULES).arrays


def test_the_same_module_twice_overlaps() -> None:
    assert pointers(module(0, 0), module(5000 * MM, 0), module(0, 0)) == ["/modules/2"]


def test_an_overlap_across_rows_is_found() -> None:
    assert pointers(module(0, 0), module(400 * MM, 1599 * MM)) == ["/modules/1"]


def test_a_module_inside_another_overlaps() -> None:
    inner = Module(x_nm=10 * MM, y_nm=10 * MM, width_nm=MM, height_nm=MM)
    assert pointers(inner, module(0, 0)) == ["/modules/1"]


def test_a_cross_of_two_modules_overlaps_though_no_corner_lies_in_the_other() -> None:
    bar = Module(x_nm=-500 * MM, y_nm=500 * MM, width_nm=3000 * MM, height_nm=100 * MM)
    assert pointers(module(0, 0), bar) == ["/modules/1"]


def test_something_thin_in_a_closing_gap_does_not_overlap() -> None:
    thin = Module(x_nm=1005 * MM, y_nm=0, width_nm=10 * MM, height_nm=500 * MM)
    outline = outline_of([module(0, 0), module(1020 * MM, 0), thin], rules=RULES)
    assert outline.perimeter_nm == 2 * (2020 + 1600) * MM


def test_a_module_on_a_drawn_shape_overlaps() -> None:
    (fault,) = faults(module(0, 0), ring(*SQUARE))
    assert fault.path == ("outline", 0)
    assert "modules/0" in fault.problem


def test_a_turned_module_overlaps() -> None:
    assert pointers(module(0, 0), module(1200 * MM, 0, rotation=30)) == ["/modules/1"]


@pytest.mark.parametrize(
    ("shape", "pointer", "word"),
    [
        (ring((0, 0), (9, 0), (0, 0)), "/outline/0/exterior", "at least 3"),
        (ring(), "/outline/0/exterior", "at least 3"),
        (ring((0, 0), (5, 5), (9, 9)), "/outline/0/exterior", "one line"),
        (ring((0, 0), (9, 9), (9, 0), (0, 9)), "/outline/0/exterior", "crosses"),
        (ring((0, 0), (9, 0), (9, 9), (9, 3), (0, 3)), "/outline/0/exterior", "crosses"),
        (ring(*SQUARE, holes=(((0, 0), (1, 1)),)), "/outline/0/holes/0", "at least 3"),
        (
            ring((0, 0), (9, 0), (9, 9), (0, 9), holes=(((8, 8), (20, 8), (20, 20)),)),
            "/outline/0/holes/0",
            "outside",
        ),
        (
            ring(*SQUARE, holes=(((1, 1), (9, 1), (9, 9)), ((2, 1), (8, 1), (8, 9)))),
            "/outline/0/holes/1",
            "overlaps hole 0",
        ),
    ],
)
def test_a_ring_goes_once_round_inside_its_shell(
    shape: DrawnShape, pointer: str, word: str
) -> None:
    (fault,) = faults(shape)
    assert fault.pointer == pointer
    assert word in fault.problem


def test_every_fault_is_told_at_once() -> None:
    found = pointers(
        module(0, 0),
        module(1, 0),
        ring((0, 0), (9, 9), (9, 0), (0, 9)),
    )
    assert sorted(found) == ["/modules/1", "/outline/0/exterior"]


def test_a_hole_as_large_as_its_shell_leaves_nothing() -> None:
    (fault,) = faults(ring(*SQUARE, holes=(SQUARE,)))
    assert fault.path == ("outline", 0)


def test_many_overlaps_stop_with_a_word() -> None:
    found = faults(*[module(0, 0)] * 200)
    assert len(found) == 101
    assert "first 100" in found[-1].problem


def test_more_than_can_be_laid_out_at_once_is_refused() -> None:
    scattered = [module(i % 100 * 1060 * MM, i // 100 * 1660 * MM) for i in range(5_000)]
    assert "got about 20000" in faults(*scattered)[0].problem
    checkered = [
        module(i * 1000 * MM, j * 1600 * MM) for i in range(64) for j in range(i % 2, 64, 2)
    ]
    assert pointers(*checkered) == ["/modules"]
    turned = [
        Module(
            x_nm=i % 30 * 1030 * MM,
            y_nm=i // 30 * 1030 * MM,
            width_nm=1000 * MM,
            height_nm=1000 * MM,
            turn_degrees=i / 10**6,
        )
        for i in range(800)
    ]
    assert "to join" in faults(*turned)[0].problem
    crossed = [module(i * MM, 0, rotation=45 + i / 10**6) for i in range(1_000)]
    assert "overlaps" in faults(*crossed)[0].problem
    assert pointers(ring(*[(0, 0)] * 2_001)) == ["/outline"]
