"""Modules that stand a hair out of line: the outline keeps their steps, and says so."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from tests.unit.calls.layouts import layout

OPEN = [{"facing": facing, "open": True} for facing in ("left", "right")]


def row(step, count=10, **told):
    """Return a row of modules, every other one a step up the slope."""
    modules = [
        {
            "x": f"{at * 1020} mm",
            "y": step if at % 2 else "0 mm",
            "width": "1000 mm",
            "height": "1600 mm",
        }
        for at in range(count)
    ]
    return layout(array={"modules": modules}, units="metric", **told)


def test_steps_smaller_than_a_mark_of_the_tape_are_told_once_for_a_whole_array():
    found = row("25 mm")
    assert found.counts.corners == 40
    (condition,) = found.conditions
    assert (condition.kind, condition.place.x.text) == ("uneven_edges", "1 m")
    assert condition.text == (
        "Edges shorter than a mark of the tape: A2, A4, A6, A8, A10, A12 and 12 more, the shortest"
        " 0.025 m. Each end of one is a corner; give modules that stand in line places in line."
    )


@pytest.mark.parametrize("step", ["0 mm", "26 mm"])
def test_modules_in_line_and_steps_that_a_tape_shows_are_not_told(step):
    assert row(step).conditions == []


def test_steps_where_no_channel_goes_are_not_told():
    assert row("25 mm", count=2, facings=OPEN).conditions == []


@pytest.mark.parametrize(
    ("step", "kinds"), [("0.000001 mm", []), ("1 mm", ["overlap_within_rounding"])]
)
def test_steps_within_a_quarter_of_the_cut_increment_are_taken_to_be_in_line(step, kinds):
    found = row(step)
    assert found.counts.corners == 4
    assert [condition.kind for condition in found.conditions] == kinds


def turned(digits, turn=12.5):
    """Return two rows of turned modules as a design tool gives them, with so many digits [mm]."""
    along, up = cos(radians(turn)), sin(radians(turn))
    places = [(x * 1020, y * 1720) for x in range(5) for y in range(2)]
    modules = [
        {
            "x": f"{x * along - y * up:.{digits}f} mm",
            "y": f"{x * up + y * along:.{digits}f} mm",
            "width": "1000 mm",
            "height": "1700 mm",
            "turn": turn,
        }
        for x, y in places
    ]
    return layout(array={"modules": modules}, units="metric", rails={"none": True})


@pytest.mark.parametrize(
    ("digits", "healed"),
    [(0, {"overlap_within_rounding"}), (1, {"overlap_within_rounding"}), (2, set()), (3, set())],
)
def test_turned_modules_that_a_design_tool_rounded_stand_in_line(digits, healed):
    found, exact = turned(digits), turned(6)
    assert found.counts.corners == exact.counts.corners == 4
    assert found.counts.pieces == exact.counts.pieces
    assert found.counts.perimeter.value == pytest.approx(17, abs=0.004)
    assert {condition.kind for condition in found.conditions} == {"overlong_span"} | healed
