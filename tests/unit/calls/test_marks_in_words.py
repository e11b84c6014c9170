"""Marks of the tape as a crew reads them."""

from __future__ import annotations

import pytest

from tests.unit.calls.layouts import ARRAY, layout, segment

BOTH_WAYS = {"segments": [segment(-3, 33, 243, 33), segment(60, -3, 60, 135)]}


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_cut_reads_as_the_length_to_cut(units):
    odd = {"rows": 1, "columns": 3, "long_side": "1.7013 m", "short_side": "1.0007 m"}
    rounded = 0
    for piece in layout(array={"blocks": [odd]}, units=units).pieces:
        last = piece.marks[-1]
        assert (last.kind, last.at) == ("end", piece.cut_length)
        assert last.text == f"cut at {piece.cut_length.text}"
        rounded += last.at.get("rounded") == "up"
    # pieces are cut on whole inches, which only a metric tape has to round
    assert bool(rounded) is (units == "metric")


@pytest.mark.parametrize(("direction", "where"), [("eave", "upslope face of"), ("slope", "beside")])
def test_a_tab_is_on_the_upslope_face_of_its_rail_where_the_rail_has_one(direction, where):
    found = layout(**ARRAY, rails={"direction": direction})
    texts = [mark.text for piece in found.pieces for mark in piece.marks if mark.kind == "tab"]
    assert texts
    assert all(text.startswith(f"tab, {where} the rail, at ") for text in texts)


@pytest.mark.parametrize(
    ("ends", "sides"),
    [
        ((60, -3, 60.01, 135), {"beside"}),
        ((60, -3, 100, 135), {"beside"}),
        ((-3, 33, 243, 40), {"upslope"}),
    ],
)
def test_a_rail_out_of_line_faces_as_it_mostly_runs(ends, sides):
    assert {tab.side for tab in layout(**ARRAY, rails={"segments": [segment(*ends)]}).tabs} == sides


def test_where_rails_run_both_ways_each_tab_is_told_by_its_own_rail():
    found = layout(**ARRAY, rails=BOTH_WAYS)
    facing = {edge.edge: edge.facing for edge in found.edges}
    side = {"left": "upslope", "right": "upslope", "eave": "beside", "ridge": "beside"}
    told = [(tab.edge, tab.side) for tab in found.tabs]
    assert sorted(facing[edge] for edge, _ in told) == ["eave", "left", "ridge", "right"]
    assert all(side[facing[edge]] == where for edge, where in told)
    pictured = [one["properties"] for one in found.geometry[0].features["features"]]
    tabs = [(one["edge"], one["side"]) for one in pictured if one["kind"] == "tab"]
    assert tabs == told
    marks = [mark for piece in found.pieces for mark in piece.marks if mark.kind == "tab"]
    assert {mark.edge for mark in marks} == facing.keys()
    for mark in marks:
        words = {"upslope": "upslope face of", "beside": "beside"}[side[facing[mark.edge]]]
        assert mark.text.startswith(f"tab, {words} the rail, at ")


def test_a_tab_where_rails_of_both_ways_meet_is_on_the_upslope_face_of_one():
    """A rail along the eave and one along the left side meet at the corner."""
    rails = {"segments": [segment(-3, 0, 100, 0), segment(0, -3, 0, 100)]}
    found = layout(**ARRAY, rails=rails)
    assert [(tab.edge, tab.along.value, tab.side) for tab in found.tabs] == [("A1", 0, "upslope")]
