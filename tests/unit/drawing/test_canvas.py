from __future__ import annotations

import re

import pytest
from gapwright.drawing.canvas import Scale, scales
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.drawing.read import SVG, groups, root_of, texts
from tests.unit.drawing.roofs import drawn, grid, laid
from tests.unit.measures import FT, IN, STEADY, M

UNITS = {"ft": FT, "m": M}


@pytest.mark.parametrize(
    ("ratio", "inches_to_a_foot"),
    [(12, 1), (16, 0.75), (24, 0.5), (32, 0.375), (48, 0.25), (64, 0.1875), (96, 0.125)],
)
def test_an_imperial_scale_is_told_as_on_a_ruler(ratio, inches_to_a_foot):
    assert 12 / ratio == inches_to_a_foot
    whole, _, part = Scale(ratio=ratio, system="imperial").text.partition("(")[2].partition("/")
    told = float(whole) / float(part.split()[0]) if part else float(whole.split()[0])
    assert told == inches_to_a_foot


@STEADY
@given(
    st.integers(IN, 2000 * M), st.integers(IN, 2000 * M), st.sampled_from(["imperial", "metric"])
)
def test_an_array_fits_at_the_largest_scale(wide, tall, system):
    size = (1100, 800)
    scale = next(scales(wide, tall, system, size))
    each = 96 / IN / scale.ratio
    assert scale.px_per_nm == pytest.approx(each)
    assert wide * each <= size[0]
    assert tall * each <= size[1]


@pytest.mark.parametrize("system", ["imperial", "metric"])
@pytest.mark.parametrize("size", [(1, 1), (1, 3), (3, 10), (15, 20), (40, 50)])
def test_the_drawn_bar_and_the_paper_are_true_to_scale(size, system):
    root = root_of(drawn(laid(grid(*size)), system))
    bar = groups(root, "Scale bar of")[0]
    length, unit = bar.get("aria-label").split()[-2:]
    frame = next(p for p in bar.iter(f"{SVG}path") if "frame" in p.get("class"))
    drawn_px = float(re.search(r"h(\d+\.?\d*)v", frame.get("d"))[1])
    assert 20 < drawn_px <= 220
    ratio = int(re.search(r"scale 1:(\d+)", " ".join(texts(bar)))[1])
    page_px = float(root.get("viewBox").split()[2])
    paper = {"in": IN, "mm": 1_000_000}[re.sub(r"[\d.]", "", root.get("width"))]
    nm_per_px = float(re.sub(r"[a-z]", "", root.get("width"))) * paper / page_px
    assert drawn_px * nm_per_px * ratio == pytest.approx(float(length) * UNITS[unit], rel=2e-3)
