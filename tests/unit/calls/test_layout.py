"""The calls that lay channel out: what they answer, and what they refuse."""

from __future__ import annotations

from itertools import pairwise

import pytest
from gapwright.calc.layout import lay
from gapwright.calc.outline import nearness
from gapwright.calls.array import MOST_MODULES
from gapwright.calls.layout import LayoutRequest
from gapwright.calls.materials import MaterialsRequest
from gapwright.strict import convert

from tests.unit.calls.layouts import (
    ARRAY,
    BLOCK,
    CLEARANCE,
    drawing,
    layout,
    materials,
    refused,
    segment,
)

HIGH = {"clearance": {"readings": ["7 1/4 in"]}}
BY_EDGE = {**ARRAY, "sides": [{"side": "A-right", **HIGH}]}


@pytest.mark.parametrize("told", [ARRAY, BY_EDGE, {"planes": [ARRAY, BY_EDGE]}])
def test_the_mesh_of_the_bill_is_what_all_pieces_are_cut_to(told):
    found, counted = layout(**told), materials(told)
    mesh = next(line for line in counted.lines if line.item == "mesh")
    cut = sum(piece.cut_length.value for piece in found.pieces)
    assert mesh.quantity == found.counts.cut_mesh.value == pytest.approx(cut, abs=1e-4)
    assert mesh.rolls == found.counts.rolls == len(found.cut_plan.rolls)


def test_strips_of_several_widths_are_told_apart_on_sides_pieces_rolls_and_in_the_bill():
    found = layout(**BY_EDGE)
    widths = {strip.strip: strip.width.text for strip in found.strips}
    assert widths == {"S1": "8 in", "S2": "10 in"}
    assert [side.strip for side in found.sides] == ["S1", "S2", "S1", "S1"]
    of_piece = {piece.name: widths[piece.strip] for piece in found.pieces}
    for roll in found.cut_plan.rolls:
        assert {of_piece[piece.piece] for piece in roll.pieces} == {roll.strip_width.text}
    by_width = materials(BY_EDGE).strips
    assert [each.strip_width.text for each in by_width] == ["8 in", "10 in"]
    total = sum(each.length.value for each in by_width)
    assert total == pytest.approx(found.counts.cut_mesh.value, abs=1e-4)
    assert sum(each.rolls for each in by_width) == found.counts.rolls


def test_the_usual_strip_is_the_one_told_first_and_the_bill_of_one_width_says_no_more():
    found = layout(**BY_EDGE)
    assert (found.strip_width, found.profile) == (found.strips[0].width, found.strips[0].profile)
    assert "strips" not in materials(ARRAY)


def test_a_corner_between_two_strips_is_told_with_its_place():
    met = [each for each in layout(**BY_EDGE).warnings if each.code == "strips_meet"]
    assert [(each.place.x.text, each.place.y.text) for each in met] == [
        ("20 ft", "0 ft"),
        ("20 ft", "11 ft"),
    ]


def test_where_no_strip_is_wide_enough_it_is_told_and_nothing_is_billed():
    told = {**ARRAY, "sides": [{"side": "A-right", "clearance": {"readings": ["11 in"]}}]}
    found = layout(**told)
    (missing,) = [each for each in found.warnings if each.code == "no_strip"]
    assert "S2" in missing.text
    billed = materials(told)
    assert (billed.strip_width, billed.lines, billed.strips) == (None, [], [])
    assert billed.advice == found.strips[1].advice != []


def test_pieces_of_a_strip_that_is_not_stocked_are_laid_out_and_cut_from_no_roll():
    told = {**ARRAY, "sides": [{"side": "A-right", "clearance": {"readings": ["11 in"]}}]}
    found = layout(**told)
    lacking = {piece.name for piece in found.pieces if piece.strip == "S2"}
    cut = [piece.piece for roll in found.cut_plan.rolls for piece in roll.pieces]
    assert lacking
    assert {piece.name for piece in found.pieces} == {*cut, *lacking}
    assert lacking.isdisjoint(cut)
    assert found.counts.rolls == len(found.cut_plan.rolls) == 1


def test_where_no_strip_is_stocked_at_all_there_is_a_layout_and_no_roll():
    found = layout(**ARRAY, clearance={"readings": ["11 in"]})
    (missing,) = found.warnings
    assert missing.text == (
        "No stock strip is wide enough for S1, which needs at least 13 in. Its pieces are not"
        " counted in the rolls or the cut plan."
    )
    assert (found.counts.rolls, found.cut_plan.rolls, found.cut_plan.bound) == (0, [], 0)
    assert found.counts.pieces == len(found.pieces) == len(layout(**ARRAY).pieces)
    assert found.overlaps
    assert found.tabs


def test_the_advice_of_a_bill_is_that_of_each_of_its_strips():
    loose = {"side": "A-right", "clearance": {"readings": ["7 1/4 in", "4 1/2 in", "4 1/2 in"]}}
    told = {**ARRAY, "sides": [loose]}
    found = layout(**told)
    assert [bool(strip.advice) for strip in found.strips] == [False, True]
    assert materials(told).advice == found.strips[1].advice


def test_a_strip_that_is_told_and_readings_by_side_do_not_go_together():
    planes = [ARRAY, {**BY_EDGE, "facings": [{"facing": "eave", **HIGH}]}]
    request = convert({"layout": {"planes": planes}, "strip_width": "8 in"}, MaterialsRequest)
    assert [fault.pointer for fault in request.faults()] == [
        "/layout/planes/1/sides/0/clearance",
        "/layout/planes/1/facings/0/clearance",
    ]


def test_planes_without_a_name_are_called_by_their_numbers_and_pieces_tell_theirs():
    found = layout(planes=[ARRAY, {**ARRAY, "name": "west"}, ARRAY])
    assert {side.plane for side in found.sides} == {"1", "west", "3"}
    names = [(piece.plane, piece.name) for piece in found.pieces]
    assert len(set(names)) == len(names)
    cut = [(piece.plane, piece.piece) for roll in found.cut_plan.rolls for piece in roll.pieces]
    assert sorted(cut) == sorted(names)


@pytest.mark.parametrize("names", [("west", "west"), ("2", "")])
def test_two_planes_of_one_name_are_refused(names):
    request = convert({**CLEARANCE, "planes": [{**ARRAY, "name": n} for n in names]}, LayoutRequest)
    assert [fault.pointer for fault in request.faults()] == ["/planes/1/name"]


def test_modules_are_counted_over_all_planes():
    half = {"array": {"blocks": [{**BLOCK, "rows": 100, "columns": MOST_MODULES // 200}]}}
    fine = convert({**CLEARANCE, "planes": [half, {**half, "name": "b"}]}, LayoutRequest)
    assert fine.faults() == []
    three = convert({**CLEARANCE, "planes": [half, {**half, "name": "b"}, ARRAY]}, LayoutRequest)
    (fault,) = three.faults()
    assert fault.pointer == "/planes"
    assert str(MOST_MODULES) in fault.detail


@pytest.mark.parametrize(
    ("told", "pointer"), [(ARRAY, "/array"), ({"planes": [ARRAY]}, "/planes/0/array")]
)
def test_more_work_than_is_done_at_once_is_refused_plainly(monkeypatch, told, pointer):
    assert layout(**told)
    monkeypatch.setattr(lay, "MOST_PLACES", 100)
    assert [fault.pointer for fault in refused(**told)] == [pointer]


def test_rails_that_meet_sides_too_often_are_refused_plainly(monkeypatch):
    assert layout(**ARRAY)
    monkeypatch.setattr(nearness, "MOST_MEETINGS", 3)
    assert [fault.pointer for fault in refused(**ARRAY)] == ["/rails"]
    assert [fault.pointer for fault in refused(planes=[ARRAY])] == ["/planes/0/rails"]


def test_a_drawing_with_several_strips_shows_each_and_says_which_sides_take_it():
    drawn = drawing(**BY_EDGE)
    assert "S1: Strip 8 in wide" in drawn
    assert "S2: Strip 10 in wide" in drawn
    assert "side A-right" in drawn
    assert "strip S2" in drawn
    assert "4 corners" in drawn
    assert "4 outside corners" in drawn
    assert drawn.count('aria-label="Section of the channel') >= 2


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


@pytest.mark.parametrize(("direction", "where"), [("eave", "upslope face"), ("slope", "side")])
def test_a_tab_is_on_the_upslope_face_of_its_rail_where_the_rail_has_one(direction, where):
    found = layout(**ARRAY, rails={"direction": direction})
    texts = [mark.text for piece in found.pieces for mark in piece.marks if mark.kind == "tab"]
    assert texts
    assert all(text.startswith(f"tab, {where} of the rail, at ") for text in texts)


@pytest.mark.parametrize(
    ("ends", "sides"),
    [
        ((60, -3, 60.01, 135), {"beside"}),
        ((60, -3, 100, 135), {"beside"}),
        ((-3, 33, 243, 40), {"upslope"}),
    ],
)
def test_a_rail_out_of_line_faces_as_it_mostly_runs(ends, sides):
    assert {
        tab.rail_side for tab in layout(**ARRAY, rails={"segments": [segment(*ends)]}).tabs
    } == sides


def test_where_rails_run_both_ways_each_tab_is_told_by_its_own_rail():
    found = layout(**ARRAY, rails=BOTH_WAYS)
    facing = {side.side: side.facing for side in found.sides}
    expected = {"left": "upslope", "right": "upslope", "eave": "beside", "ridge": "beside"}
    told = [(tab.side, tab.rail_side) for tab in found.tabs]
    assert sorted(facing[side] for side, _ in told) == ["eave", "left", "ridge", "right"]
    assert all(expected[facing[side]] == where for side, where in told)
    pictured = [one["properties"] for one in found.geometry[0].features["features"]]
    tabs = [(one["side"], one["rail_side"]) for one in pictured if one["kind"] == "tab"]
    assert tabs == told
    marks = [mark for piece in found.pieces for mark in piece.marks if mark.kind == "tab"]
    assert {mark.side for mark in marks} == facing.keys()
    for mark in marks:
        words = {"upslope": "upslope face", "beside": "side"}[expected[facing[mark.side]]]
        assert mark.text.startswith(f"tab, {words} of the rail, at ")


def test_a_tab_where_rails_of_both_ways_meet_is_on_the_upslope_face_of_one():
    """A rail along the eave and one along the left side meet at the corner."""
    rails = {"segments": [segment(-3, 0, 100, 0), segment(0, -3, 0, 100)]}
    found = layout(**ARRAY, rails=rails)
    assert [(tab.side, tab.along.value, tab.rail_side) for tab in found.tabs] == [
        ("A-eave", 0, "upslope")
    ]


VISIBLE = {"facings": [{"facing": "eave", "zone": "visible"}]}
OPEN = {"facings": [{"facing": "left", "open": True}]}
OTHER_STRIP = {"sides": [{"side": "A-right", "clearance": {"readings": ["7 1/4 in"]}}]}
BROKEN = {"facings": [{"facing": "ridge", "open": True}, {"facing": "eave", "open": True}]}


@pytest.mark.parametrize("more", [{}, VISIBLE, OPEN, OTHER_STRIP, BROKEN])
def test_a_piece_overlaps_the_piece_before_it_as_its_own_overlap_and_its_marks_say(more):
    found = layout(**ARRAY, **more)
    own = {piece.name: piece for piece in found.pieces}
    told = {overlap.piece: overlap for overlap in found.overlaps}
    turned = {each.piece: each.length.value for each in found.returns if each.end == "start"}
    assert set(told) == {piece.name for piece in found.pieces if piece.overlap}
    for name, overlap in told.items():
        assert overlap.length == own[name].overlap
        before = own[overlap.over]
        (begins,) = (mark for mark in before.marks if mark.kind == "next_overlaps")
        reach = turned.get(overlap.over, 0) + before.covers.value - begins.at.value
        assert reach == pytest.approx(overlap.length.value, abs=2e-6)


@pytest.mark.parametrize("more", [{}, VISIBLE, OPEN, OTHER_STRIP, BROKEN])
def test_a_overlap_is_told_where_both_its_pieces_lie(more):
    found = layout(**ARRAY, **more)
    lines = {
        each["properties"]["name"]: each["geometry"]["coordinates"]
        for each in found.geometry[0].features["features"]
        if each["properties"]["kind"] == "piece"
    }
    for overlap in found.overlaps:
        place = [at.value * 0.3048 for at in (overlap.place.x, overlap.place.y)]
        assert lines[overlap.over][-1] == pytest.approx(place, abs=1e-5)
        assert _lies_on(place, lines[overlap.piece])


def _lies_on(place, line):
    """Return whether a place is on a line of upright and level runs, to a hundredth of a mm."""
    x, y = place
    return any(
        min(a, c) - 1e-5 <= x <= max(a, c) + 1e-5 and min(b, d) - 1e-5 <= y <= max(b, d) + 1e-5
        for (a, b), (c, d) in pairwise(line)
    )
