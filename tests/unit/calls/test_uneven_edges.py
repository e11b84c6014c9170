"""Modules that stand a hair out of line: the outline keeps their steps, and says so."""

from __future__ import annotations

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


@pytest.mark.parametrize("step", ["0.000001 mm", "1 mm", "25 mm"])
def test_steps_smaller_than_a_mark_of_the_tape_are_told_once_for_a_whole_array(step):
    found = row(step)
    assert found.counts.corners == 40
    (condition,) = found.conditions
    assert (condition.kind, condition.place.x.text) == ("uneven_edges", "1 m")
    shown = step if step != "0.000001 mm" else "1 mm"
    metres = f"{int(shown.split()[0]) / 1000} m"
    assert condition.text == (
        f"Edges shorter than a mark of the tape: A2, A4, A6, A8, A10, A12 and 12 more, the shortest"
        f" {metres}. Each end of one is a corner; give modules that stand in line places in line."
    )


@pytest.mark.parametrize("step", ["0 mm", "26 mm"])
def test_modules_in_line_and_steps_that_a_tape_shows_are_not_told(step):
    assert row(step).conditions == ()


def test_steps_where_no_channel_goes_are_not_told():
    assert row("1 mm", count=2, facings=OPEN).conditions == ()
