"""Rails as a caller gives them, and those inferred under rows where none are given."""

from __future__ import annotations

import pytest

from tests.unit.calls.layouts import ARRAY, BLOCK, drawing, layout, segment


def test_a_rail_through_a_corner_has_one_tab_there_wherever_it_is_told():
    told = {**ARRAY, "rails": {"segments": [segment(-10, -10, 30, 30), segment(-3, 90, 243, 90)]}}
    found = layout(**told)
    tabs = [(tab.side, tab.along.text) for tab in found.tabs]
    assert tabs == [("A-eave", "0 ft"), ("A-right", "7 ft 6 in"), ("A-left", "3 ft 6 in")]
    assert found.counts.tabs == 3
    features = found.geometry[0].features["features"]
    assert [each["properties"]["kind"] for each in features].count("tab") == 3
    assert "3 tabs" in drawing(**told)


def test_a_rail_right_under_an_side_takes_returns_as_one_beside_it_does():
    under, inside = (
        layout(**ARRAY, rails={"segments": [segment(-3, y, 243, y), segment(-3, 100, 243, 100)]})
        for y in (0, "1/64")
    )
    assert under.counts.returns == inside.counts.returns > 0
    assert {made.length.text for made in under.returns if made.side == "A-eave"} == {"10 in"}


def test_a_span_beside_a_rail_out_of_line_is_not_said_to_have_no_rail():
    found = layout(**ARRAY, rails={"segments": [segment(-3, 10, 243, 30)]})
    (texts,) = {warning.text.split("here ")[1] for warning in found.warnings}
    assert texts.startswith("without attachment to a rail, more than the rules allow. ")


@pytest.mark.parametrize(("rise_in", "returns"), [(0, 6), (0.9, 6), (1.1, 0)])
def test_a_rail_out_of_line_by_up_to_a_mark_of_the_tape_takes_returns(rise_in, returns):
    block = {"rows": 1, "columns": 8, "long_side": "66 in", "short_side": "40 in"}
    rails = [segment(-3, y, 323, y + rise_in) for y in (15, 50)]
    found = layout(array={"blocks": [block]}, rails={"segments": rails})
    assert len(found.returns) == returns
    assert bool(found.warnings) is (not returns)


LANDSCAPE = {"rows": 1, "columns": 4, "orientation": "landscape"}
SIDES = {"long_side": "66 in", "short_side": "40 in"}
TURNED = {"x": "300 in", "y": "0 in", "width": "40 in", "height": "66 in", "rotation": 20}
AREA = [("0 in", "140 in"), ("100 in", "140 in"), ("100 in", "200 in"), ("0 in", "200 in")]
DRAWN = {"exterior": [{"x": x, "y": y} for x, y in AREA]}


def row(rotation, x, y, width, height):
    """Return a row of four modules that lie across, each turned about its own corner."""
    size = {"width": f"{width} in", "height": f"{height} in", "rotation": rotation}
    return {"modules": [{"x": f"{x + 66 * n} in", "y": f"{y} in", **size} for n in range(4)]}


def rails_unknown(array):
    warnings = layout(array=array).warnings
    return [each.text for each in warnings if each.code == "rails_unknown"]


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
    assert rails_unknown({"modules": [{**TURNED, "rotation": 1e-6}]})


@pytest.mark.parametrize(
    ("more", "without"),
    [
        ({"modules": [TURNED]}, "rotated modules"),
        ({"outline": [DRAWN]}, "drawn outlines"),
        ({"modules": [TURNED], "outline": [DRAWN]}, "rotated modules and drawn outlines"),
    ],
)
def test_what_stands_without_rails_beside_rows_that_have_some_is_told(more, without):
    assert rails_unknown({"blocks": [BLOCK], **more}) == [
        f"No rails are known under {without}, so fasteners are counted by rule of thumb. Give the"
        " rails' segments."
    ]


def test_rows_alone_and_areas_alone_are_told_as_ever():
    assert rails_unknown({"blocks": [BLOCK]}) == []
    assert rails_unknown({"outline": [DRAWN]}) == [
        "No rails are known, so fasteners are counted by rule of thumb. Give the rails' segments."
    ]
