"""Rails as a caller tells them: where they meet the channel, and what is refused."""

from __future__ import annotations

import pytest

from tests.unit.calls.layouts import ARRAY, drawing, layout, segment


def test_a_rail_through_a_corner_has_one_tab_there_wherever_it_is_told():
    told = {**ARRAY, "rails": {"segments": [segment(-10, -10, 30, 30), segment(-3, 90, 243, 90)]}}
    found = layout(**told)
    tabs = [(tab.edge, tab.along.text) for tab in found.tabs]
    assert tabs == [("A1", "0 ft"), ("A2", "7 ft 6 in"), ("A4", "3 ft 6 in")]
    assert found.counts.tabs == 3
    features = found.geometry[0].features["features"]
    assert [each["properties"]["kind"] for each in features].count("tab") == 3
    assert "3 tabs" in drawing(**told)


def test_a_rail_right_under_an_edge_takes_returns_as_one_beside_it_does():
    under, inside = (
        layout(**ARRAY, rails={"segments": [segment(-3, y, 243, y), segment(-3, 100, 243, 100)]})
        for y in (0, "1/64")
    )
    assert under.counts.returns == inside.counts.returns > 0
    assert {made.length.text for made in under.returns if made.edge == "A1"} == {"10 in"}


def test_a_span_beside_a_rail_out_of_line_is_not_said_to_have_no_rail():
    found = layout(**ARRAY, rails={"segments": [segment(-3, 10, 243, 30)]})
    (texts,) = {condition.text.split("here ")[1] for condition in found.conditions}
    assert texts.startswith("without being fixed to a rail, more than the rule allows; ")


@pytest.mark.parametrize(("rise_in", "returns"), [(0, 6), (0.9, 6), (1.1, 0)])
def test_a_rail_out_of_line_by_up_to_a_mark_of_the_tape_takes_returns(rise_in, returns):
    block = {"rows": 1, "columns": 8, "long_side": "66 in", "short_side": "40 in"}
    rails = [segment(-3, y, 323, y + rise_in) for y in (15, 50)]
    found = layout(array={"blocks": [block]}, rails={"segments": rails})
    assert len(found.returns) == returns
    assert bool(found.conditions) is (not returns)
