"""Rails where none are told: under rows however their modules are written, and what is said."""

from __future__ import annotations

import pytest

from tests.unit.calls.layouts import BLOCK, layout

LANDSCAPE = {"rows": 1, "columns": 4, "orientation": "landscape"}
SIDES = {"long_side": "66 in", "short_side": "40 in"}
TURNED = {"x": "300 in", "y": "0 in", "width": "40 in", "height": "66 in", "turn": 20}
AREA = [("0 in", "140 in"), ("100 in", "140 in"), ("100 in", "200 in"), ("0 in", "200 in")]
DRAWN = {"shell": [{"x": x, "y": y} for x, y in AREA]}


def row(turn, x, y, width, height):
    """Return a row of four modules that lie across, each turned about its own corner."""
    size = {"width": f"{width} in", "height": f"{height} in", "turn": turn}
    return {"modules": [{"x": f"{x + 66 * n} in", "y": f"{y} in", **size} for n in range(4)]}


def rails_unknown(array):
    conditions = layout(array=array).conditions
    return [each.text for each in conditions if each.kind == "rails_unknown"]


@pytest.mark.parametrize(
    "array", [row(90, 66, 0, 40, 66), row(-90, 0, 40, 40, 66), row(180, 66, 40, 66, 40)]
)
def test_modules_turned_by_right_angles_are_a_block_of_the_same_place(array):
    told, block = layout(array=array), layout(array={"blocks": [{**LANDSCAPE, **SIDES}]})
    assert told.tabs
    assert told == block


@pytest.mark.parametrize("hair", [1e-14, -1e-13, 1e-8])
def test_a_right_angle_that_was_computed_is_one(hair):
    exact, computed = row(90, 66, 0, 40, 66), row(90 + hair, 66, 0, 40, 66)
    assert layout(array=computed) == layout(array=exact)
    assert rails_unknown({"modules": [{**TURNED, "turn": 1e-6}]})


@pytest.mark.parametrize(
    ("more", "without"),
    [
        ({"modules": [TURNED]}, "turned modules"),
        ({"outline": [DRAWN]}, "drawn outlines"),
        ({"modules": [TURNED], "outline": [DRAWN]}, "turned modules and drawn outlines"),
    ],
)
def test_what_stands_without_rails_beside_rows_that_have_some_is_told(more, without):
    assert rails_unknown({"blocks": [BLOCK], **more}) == [
        f"No rails could be inferred under {without}; tell them, or say that there are none."
    ]


def test_rows_alone_and_areas_alone_are_told_as_ever():
    assert rails_unknown({"blocks": [BLOCK]}) == []
    assert rails_unknown({"outline": [DRAWN]}) == [
        "No rails could be inferred; tell them, or say that there are none."
    ]
