"""The mesh of a return: the long side of a right-angled triangle. Euclid, Elements, I.47.

Legs of 6 in and 8 in make 10 in, of 5 in and 12 in 13 in: whole numbers, exact. The legs are the
way to the rail and the way along the edge; the tab at the return's end is added.
"""

from __future__ import annotations

import pytest
from gapwright.calls.layout import LayoutRequest, layout
from gapwright.strict import convert

from tests.unit.make import with_values
from tests.unit.wire import as_sent

IN = 25_400_000


@pytest.mark.parametrize(
    ("to_rail", "along", "diagonal"), [(6, 8, 10), (8, 6, 10), (5, 12, 13), (12, 5, 13)]
)
@pytest.mark.parametrize("tab", [0, 2])
def test_a_return_takes_its_diagonal_and_its_tab(to_rail, along, diagonal, tab):
    rules = with_values({"return_run": along * IN, "return_tab_length": tab * IN})
    rail = {
        "start": {"x": "-3 in", "y": f"{to_rail} in"},
        "end": {"x": "243 in", "y": f"{to_rail} in"},
    }
    job = {
        "clearance": {"readings": ["4 1/2 in"]},
        "array": {"modules": [{"x": "0 in", "y": "0 in", "width": "240 in", "height": "66 in"}]},
        "rails": {"segments": [rail]},
    }
    found = as_sent(layout(convert(job, LayoutRequest), rules).result)
    made = [each for each in found.returns if each.side == "A-eave"]
    assert made
    feet = round((diagonal + tab) / 12, 6)  # as the answer prints it
    assert {each.length.value for each in made} == {feet}
    pieces = {piece.name: piece for piece in found.pieces}
    for each in found.returns:
        piece = pieces[each.piece]
        bends = [mark.at.value for mark in piece.marks if mark.kind == "return_bend"]
        turned = bends[0] if each.end == "start" else piece.cut_length.value - bends[-1]
        assert round(turned, 5) == round(feet, 5)
