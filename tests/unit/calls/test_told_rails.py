"""Rails as a caller tells them: where they meet the channel, and what is refused."""

from __future__ import annotations

from service.calls.computing import draw_layout
from service.calls.layout_forms import LayoutForm
from service.strict import convert
from tests.unit.calls.layouts import ARRAY, CLEARANCE, layout, segment
from tests.unit.make import baseline


def test_a_rail_through_a_corner_has_one_tab_there_wherever_it_is_told():
    told = {**ARRAY, "rails": {"segments": [segment(-10, -10, 30, 30), segment(-3, 90, 243, 90)]}}
    found = layout(**told)
    tabs = [(tab.edge, tab.along.text) for tab in found.tabs]
    assert tabs == [("A1", "0 ft"), ("A2", "7 ft 6 in"), ("A4", "3 ft 6 in")]
    assert found.counts.tabs == 3
    features = found.geometry[0].features["features"]
    assert [each["properties"]["kind"] for each in features].count("tab") == 3
    assert "3 tabs" in draw_layout(convert({**CLEARANCE, **told}, LayoutForm), baseline())
