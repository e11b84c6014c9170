from __future__ import annotations

import re
from math import atan2, degrees, hypot

import pytest
from gapwright.drawing import draw_section

from tests.unit.drawing.read import SVG, boxes, groups, overlapping, paths, root_of, texts, trails
from tests.unit.drawing.roofs import drawn, grid, laid, sizing
from tests.unit.measures import IN

READINGS = [("4 1/2",), ("4 1/2", "4 1/4"), ("10",), ("2 1/4",), ("6",), ("7", "4 1/8")]


def ratio(root):
    return int(next(text for text in texts(root) if "scale 1:" in text).split(":")[1])


@pytest.mark.parametrize("readings", READINGS)
def test_bend_lines_lie_to_scale_on_the_strip(readings):
    found = sizing(*readings)
    root = root_of(draw_section(found, "imperial"))
    each = 96 / IN / ratio(root)
    flat = groups(root, "Flat strip")[0]
    left, top, right, bottom, _ = map(
        float, re.findall(r"-?[\d.]+", paths(flat, "module")[0].get("d"))
    )
    assert bottom - top == pytest.approx(found.strip_nm.value * each, abs=0.1)
    assert right > left
    lines = [float(y) for y in re.findall(r"M\S+ (\S+?)H", paths(flat, "bend")[0].get("d"))]
    drawn = sorted(bottom - y for y in lines)
    assert drawn == pytest.approx(
        [line.nm * each for line in found.profile.value.bend_lines], abs=0.1
    )


@pytest.mark.parametrize("readings", READINGS)
def test_the_bent_channel_has_its_web_flanges_and_turn(readings):
    found = sizing(*readings)
    root = root_of(draw_section(found, "imperial"))
    each = 96 / IN / ratio(root)
    channel = found.profile.value
    tip, upper, lower, end = trails(paths(root, "mesh")[0].get("d"))[0]
    assert lower[1] - upper[1] == pytest.approx(channel.web.nm * each, abs=0.15)
    for bend, out, up in ((upper, tip, 1), (lower, end, -1)):
        dx, dy = out[0] - bend[0], (bend[1] - out[1]) * up
        assert hypot(dx, dy) == pytest.approx(channel.flange.nm * each, abs=0.2)
        assert degrees(atan2(dx, dy)) == pytest.approx(channel.bend_angle.min, abs=0.5)
    assert end[1] - tip[1] == pytest.approx(channel.free_height.min.nm * each, abs=0.2)


def test_the_figures_of_the_channel_stand_beside_it():
    shown = texts(root_of(draw_section(sizing("4 1/2"), "imperial")))
    for text in ("8 in", "6 in", "2 in", "0 in", "4 in", "flange 2 in", "bend 70° to 80°"):
        assert text in shown
    assert "C channel, scale 1:5" in shown


@pytest.mark.parametrize("system", ["imperial", "metric"])
@pytest.mark.parametrize("readings", READINGS)
def test_nothing_in_the_detail_overlaps(readings, system):
    root = root_of(draw_section(sizing(*readings), system))
    assert overlapping(boxes(root)) == []
    wide = float(root.get("viewBox").split()[2])
    assert all(box[0] > 10 and box[2] < wide - 10 for _, box in boxes(root))


def test_a_loose_channel_is_told_to_be_loose():
    found = sizing("7", "4 1/8")
    assert not found.profile.value.snug
    assert "Loose in the largest gap" in " ".join(texts(root_of(draw_section(found, "imperial"))))


def test_the_same_detail_stands_in_the_plan():
    alone = root_of(draw_section(sizing(), "imperial"))
    plan = root_of(drawn(laid(grid(1, 3))))
    inside, outside = (groups(root, "Section of the channel")[0] for root in (plan, alone))
    assert [p.get("d") for p in inside.iter(f"{SVG}path")] == [
        p.get("d") for p in outside.iter(f"{SVG}path")
    ]
