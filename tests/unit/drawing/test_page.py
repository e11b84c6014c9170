from __future__ import annotations

import re

from gapwright.calc.layout.strips import Strip
from gapwright.drawing import draw_planes, draw_section

from tests.unit.drawing.read import (
    SVG,
    boxes,
    groups,
    root_of,
    texts,
)
from tests.unit.drawing.roofs import drawn, grid, laid, notched, sizing
from tests.unit.make import baseline


def test_the_counts_of_a_plane_stand_in_words_and_in_the_description():
    plane = notched()
    runs = plane.runs
    root = root_of(drawn(plane))
    about = root.find(f"{SVG}desc").text
    for told in (
        "25 modules",
        f"{sum(len(run.pieces) for run in runs)} pieces",
        f"{sum(len(run.layout.overlaps) for run in runs)} overlaps",
        f"{sum(len(run.placed.run.tabs_nm) for run in runs)} tabs",
        f"{sum(len(run.layout.returns) for run in runs)} returns",
        "2 penetrations",
    ):
        assert told in about
        assert any(told in text for text in texts(root))


def test_the_title_names_the_plane_the_rules_the_digest_and_the_strip():
    shown = texts(root_of(drawn(notched())))
    rules = baseline()
    assert "Roof plane west" in shown
    assert f"Rules {rules.name}, digest {rules.digest[:19]}" in shown
    assert (
        "Strip 8 in wide, bent to a C channel with a web of 4 in and two flanges of 2 in" in shown
    )


def test_where_no_strip_fits_the_plan_says_so_and_shows_no_section():
    wide = sizing("13")
    root = root_of(drawn(laid(grid(1, 3)), found=wide))
    assert "No stock strip is wide enough; 15 in or more is needed" in texts(root)
    assert not groups(root, "Section of the channel")
    assert draw_section(wide, "imperial") is None


def test_several_planes_stand_below_each_other_each_with_its_own_scale():
    planes = [laid(grid(1, 3), name="south"), laid(grid(5, 8), name="west"), laid(grid(1, 2))]
    strips = [Strip(name="S1", sizing=sizing(), readings=())]
    root = root_of(draw_planes(planes, strips, baseline(), "imperial"))
    heights = {text: box[1] for text, box in boxes(root) if text.startswith("Roof plane")}
    assert list(heights) == ["Roof plane south", "Roof plane west", "Roof plane 3"]
    assert sorted(heights.values()) == list(heights.values())
    assert len(groups(root, "Scale bar")) == 3
    assert len(groups(root, "Section of the channel")) == 1


def test_a_drawing_is_the_same_each_time():
    assert drawn(notched()) == drawn(notched())


def test_nothing_is_fetched_and_nothing_runs():
    svg = drawn(notched()).replace('xmlns="http://www.w3.org/2000/svg"', "")
    for word in ("http", "script", "href", "@import", "@font-face", "<image", "<use", " on"):
        assert f"{word}=" not in svg
        assert word.strip() == "on" or word not in svg
    assert set(re.findall(r"url\(([^)]*)\)", svg)) <= {"#zone0", "#zone1", "#zone2"}


def test_a_name_of_the_caller_stays_text():
    plane = laid(grid(1, 3), name='</text><script>alert("1")</script>\x00\ud800')
    root = root_of(drawn(plane))
    assert not list(root.iter(f"{SVG}script"))
    assert 'Roof plane </text><script>alert("1")</script>' in texts(root)


def test_a_reader_hears_what_the_drawing_is():
    root = root_of(drawn(notched()))
    assert root.get("role") == "img"
    told = {element.get("id"): element.text for element in root}
    label, about = (told[key] for key in root.get("aria-labelledby").split())
    assert label == "Barrier plan, roof plane west"
    assert "A3 faces the eave" in about or "A3 faces the ridge" in about
    assert "left open" in about
    assert all(g.get("aria-label") for g in root.iter(f"{SVG}g") if g.get("role"))
