from __future__ import annotations

from gapwright.calc.layout.plane import InferredRails, Rail, SideFacts
from gapwright.calc.layout.strips import Strip
from gapwright.drawing import draw_planes

from tests.unit.drawing.read import groups, root_of, texts
from tests.unit.drawing.roofs import drawn, grid, laid, notched, sizing
from tests.unit.make import baseline
from tests.unit.measures import IN

SLOPE = InferredRails(direction="slope")
SIDES = ("eave", "ridge", "left", "right")


def legend(plane):
    return words_in(drawn(plane))


def legends(planes):
    """Return the legends to several planes in both orders."""
    strips = [Strip(name="", sizing=sizing(), readings=())]
    for told in (planes, planes[::-1]):
        yield words_in(draw_planes(told, strips, baseline(), "imperial"))


def words_in(drawn):
    return " ".join(texts(groups(root_of(drawn), "Legend")[0]))


def overlap_nm(plane):
    return min(overlap.overlap_nm for run in plane.runs for overlap in run.layout.overlaps)


def test_a_plain_array_has_a_short_legend():
    told = legend(laid(grid(1, 3)))
    for word in ("module", "rail", "piece", "lap, at least 6 in", "tab", "return", "outside"):
        assert word in told
    for word in ("inside", "zone", "left open", "penetration", "longer without"):
        assert word not in told


def test_a_tab_is_told_as_the_rails_run():
    assert "tab, on the upslope face of the rail" in legend(laid(grid(1, 3)))
    told = legend(laid(grid(1, 3), rails=SLOPE))
    assert "tab, on the side of a rail that runs up the slope" in told
    assert "upslope" not in told


def test_a_plane_whose_rails_run_both_ways_has_tabs_of_both_kinds():
    rails = [
        Rail(start=(-3 * IN, 33 * IN), end=(125 * IN, 33 * IN)),
        Rail(start=(60 * IN, -3 * IN), end=(60 * IN, 69 * IN)),
    ]
    told = legend(laid(grid(1, 3), rails=rails))
    assert "tab, on the upslope face of the rail" in told
    assert "tab, on the side of a rail that runs up the slope" in told


def test_everything_that_occurs_is_explained():
    told = legend(notched())
    for word in ("inside corner", "exposed zone", "visible zone", "left open", "penetration"):
        assert word in told


def test_without_rails_there_are_no_tabs_and_overlong_spans_are_explained():
    told = legend(laid(grid(2, 6), rails=None))
    assert "tab" not in told
    assert "return" not in told
    assert "longer without attachment than the rules allow" in told


def test_a_legend_to_several_planes_tells_of_tabs_as_the_rails_of_each_run():
    level, upright = laid(grid(1, 3), name="a"), laid(grid(1, 3), name="b", rails=SLOPE)
    for told in legends([level, upright]):
        assert "tab, on the upslope face of the rail" in told
        assert "tab, on the side of a rail that runs up the slope" in told


def test_a_legend_to_several_planes_tells_the_least_of_all_overlaps():
    exposed = {side: SideFacts(zone="exposed") for side in SIDES}
    usual, strict = laid(grid(1, 3), name="a"), laid(grid(1, 3), name="b", facings=exposed)
    assert {overlap_nm(usual), overlap_nm(strict)} == {6 * IN, 8 * IN}
    for told in legends([usual, strict]):
        assert "lap, at least 6 in" in told


def test_an_array_without_any_channel_explains_only_what_is_left():
    told = legend(laid(grid(1, 2), facings={side: SideFacts(open=True) for side in SIDES}))
    assert told == "Legend module rail side left open, no channel"


def test_the_overlap_of_a_stricter_zone_is_told():
    told = legend(laid(grid(2, 5), facings={side: SideFacts(zone="exposed") for side in SIDES}))
    overlap = baseline().zones["exposed"].values.overlap_length // 25_400_000
    assert f"lap, at least {overlap} in" in told
