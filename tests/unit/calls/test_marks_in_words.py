"""Marks of the tape as a crew reads them."""

from __future__ import annotations

import pytest

from tests.unit.calls.layouts import ARRAY, layout


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_cut_reads_as_the_length_to_cut(units):
    odd = {"rows": 1, "columns": 3, "long_side": "1.7013 m", "short_side": "1.0007 m"}
    rounded = 0
    for piece in layout(array={"blocks": [odd]}, units=units).pieces:
        last = piece.marks[-1]
        assert (last.kind, last.at) == ("end", piece.cut_length)
        assert last.text == f"cut at {piece.cut_length.text}"
        rounded += last.at.rounded == "up"
    assert rounded


@pytest.mark.parametrize(("direction", "where"), [("eave", "upslope face of"), ("slope", "beside")])
def test_a_tab_is_on_the_upslope_face_of_its_rail_where_the_rail_has_one(direction, where):
    found = layout(**ARRAY, rails={"direction": direction})
    texts = [mark.text for piece in found.pieces for mark in piece.marks if mark.kind == "tab"]
    assert texts
    assert all(text.startswith(f"tab, {where} the rail, at ") for text in texts)
