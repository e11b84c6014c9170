"""Loops of a few inches, as the slivers that a drawing program leaves: told, and never refused."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from tests.unit.calls.layouts import drawing, layout, materials


def square(x, y, side):
    ring = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
    return [{"x": f"{u} in", "y": f"{v} in"} for u, v in ring]


def kinds(found):
    return {warning.code for warning in found.warnings}


@pytest.mark.parametrize("side", [1, 1.5])
def test_a_hole_no_longer_round_than_a_overlap_has_no_pieces_and_is_told(side):
    array = {
        "array": {"outline": [{"exterior": square(0, 0, 100), "holes": [square(40, 40, side)]}]}
    }
    found = layout(**array, rails={"none": True})
    assert {"hole_too_narrow", "no_layout"} <= kinds(found)
    assert {side.side for side in found.sides if side.hole} == {
        f"A-hole-1-{n}" for n in range(1, 5)
    }
    assert not [piece for piece in found.pieces if "hole" in piece.piece]
    assert materials(array).lines
    assert "No pieces fit along the run A-hole-1" in drawing(**array)


@pytest.mark.parametrize("side", [2, 2.5, 3, 5])
def test_a_piece_that_goes_round_a_loop_and_overlaps_itself_is_drawn_and_marked_all_along(side):
    found = layout(array={"outline": [{"exterior": square(0, 0, side)}]}, rails={"none": True})
    (piece,) = found.pieces
    (line,) = (
        each["geometry"]["coordinates"]
        for each in found.geometry[0].features["features"]
        if each["properties"]["kind"] == "piece"
    )
    lengths = [math.dist(*pair) for pair in pairwise(line)]
    assert sum(lengths) == pytest.approx(piece.cut_length.value * 0.3048, abs=1e-4)
    bends = [sum(lengths[:n]) for n in range(1, len(lengths))]
    corners = [mark.at.value * 0.3048 for mark in piece.marks if mark.kind == "corner"]
    assert corners == pytest.approx(bends, abs=1e-4)
    assert len(corners) >= 4 or piece.marks[0].at.value == 0


@pytest.mark.parametrize(("width", "text"), [(3.99, "3 15/16 in"), (3.999, "3 15/16 in")])
def test_a_hole_a_hair_narrower_than_a_hand_is_not_said_to_be_as_wide(width, text):
    hole = [(20, 20), (f"{20 + width:.3f}", 20), (f"{20 + width:.3f}", 60), (20, 60)]
    ring = [{"x": f"{x} in", "y": f"{y} in"} for x, y in hole]
    found = layout(array={"outline": [{"exterior": square(0, 0, 100), "holes": [ring]}]})
    (told,) = (each.text for each in found.warnings if each.code == "hole_too_narrow")
    assert told.startswith(f"A hole is only {text} wide")


@pytest.mark.parametrize(("width", "length"), [(12, "3 ft 9 in"), (60, "11 ft 9 in")])
def test_a_loop_that_no_rail_crosses_has_no_fixing_at_all_whatever_its_length(width, length):
    ring = [(0, 0), (width, 0), (width, 10.5), (0, 10.5)]
    exterior = [{"x": f"{x} in", "y": f"{y} in"} for x, y in ring]
    array = {"outline": [{"exterior": exterior}]}
    warnings = layout(array=array, rails={"none": True}).warnings
    (told,) = (each for each in warnings if each.code == "overlong_span")
    assert f"runs {length} here without attachment to a rail at all." in told.text
    drawn = drawing(array=array, rails={"none": True})
    assert "more than the rule allows" not in " ".join(drawn.replace("</text>", "").split())
