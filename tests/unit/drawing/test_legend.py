from __future__ import annotations

from service.calc.layout.plane import EdgeFacts, InferredRails
from service.calc.layout.strips import Strip
from service.drawing import draw_fitted, draw_plane, draw_planes
from tests.unit.drawing.read import groups, root_of, texts
from tests.unit.drawing.roofs import grid, laid, notched, sizing
from tests.unit.make import baseline

SLOPE = InferredRails(direction="slope")


def legend(plane):
    root = root_of(draw_plane(plane, sizing(), baseline(), "imperial"))
    return " ".join(texts(groups(root, "Legend")[0]))


def test_a_plain_array_has_a_short_legend():
    told = legend(laid(grid(1, 3)))
    for word in ("module", "rail", "piece", "lap, at least 6 in", "tab", "return", "outside"):
        assert word in told
    for word in ("inside", "zone", "left open", "penetration", "longer without"):
        assert word not in told


def test_a_tab_is_told_as_the_rails_run():
    assert "tab, cut on the upslope face of the rail" in legend(laid(grid(1, 3)))
    told = legend(laid(grid(1, 3), rails=SLOPE))
    assert "tab, cut beside a rail that runs up the slope" in told
    assert "upslope" not in told


def test_everything_that_occurs_is_explained():
    told = legend(notched())
    for word in ("inside corner", "exposed zone", "visible zone", "left open", "penetration"):
        assert word in told


def test_without_rails_there_are_no_tabs_and_overlong_spans_are_explained():
    told = legend(laid(grid(2, 6), rails=None))
    assert "tab" not in told
    assert "return" not in told
    assert "longer without a fixing than the rule allows" in told
    assert "a fixing of another kind" in told


def test_a_legend_to_several_planes_tells_of_tabs_as_the_rails_of_each_run():
    level, upright = laid(grid(1, 3), name="a"), laid(grid(1, 3), name="b", rails=SLOPE)
    for planes in ([level, upright], [upright, level]):
        strips = [Strip(name="", sizing=sizing(), told=())]
        drawn = draw_planes(planes, strips, baseline(), "imperial")
        for told in (drawn, draw_fitted(planes, baseline(), "imperial", (680, 860)).legend):
            words = " ".join(texts(groups(root_of(told), "Legend")[0]))
            assert "tab, cut on the upslope face of the rail" in words
            assert "tab, cut beside a rail that runs up the slope" in words


def test_an_array_without_any_channel_explains_only_what_is_left():
    sides = ("eave", "ridge", "left", "right")
    told = legend(laid(grid(1, 2), facings={side: EdgeFacts(open=True) for side in sides}))
    assert told == "Legend module rail edge left open: no channel"


def test_the_lap_of_a_stricter_zone_is_told():
    sides = ("eave", "ridge", "left", "right")
    told = legend(laid(grid(2, 5), facings={side: EdgeFacts(zone="exposed") for side in sides}))
    lap = baseline().zones["exposed"].values.lap // 25_400_000
    assert f"lap, at least {lap} in" in told
