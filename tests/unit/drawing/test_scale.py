from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing import draw_plane
from service.drawing.scale import FIELDS, Scale, bar_for, scale_for
from tests.unit.drawing.read import SVG, groups, root_of, texts
from tests.unit.drawing.roofs import grid, laid, sizing
from tests.unit.make import baseline
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
def test_an_array_fits_into_a_field_at_the_largest_scale(wide, tall, system):
    scale = scale_for(wide, tall, system)
    each = 96 / IN / scale.ratio
    assert scale.px_per_nm == pytest.approx(each)
    assert any(wide * each <= across and tall * each <= up for across, up in FIELDS)


@STEADY
@given(
    st.integers(FT, 2000 * M), st.integers(FT, 2000 * M), st.sampled_from(["imperial", "metric"])
)
def test_a_bar_is_as_long_as_it_says(wide, tall, system):
    scale = scale_for(wide, tall, system)
    bar = bar_for(scale)
    length, unit = bar.whole.split()
    assert bar.length_px == pytest.approx(float(length) * UNITS[unit] * 96 / IN / scale.ratio)
    assert float(bar.half) * 2 == float(length)
    assert 20 < bar.length_px <= 220


@pytest.mark.parametrize("system", ["imperial", "metric"])
@pytest.mark.parametrize("size", [(1, 3), (3, 10), (15, 20)])
def test_the_drawn_bar_and_the_paper_are_true_to_scale(size, system):
    root = root_of(draw_plane(laid(grid(*size)), sizing(), baseline(), system))
    bar = groups(root, "Scale bar of")[0]
    length, unit = bar.get("aria-label").split()[-2:]
    frame = next(p for p in bar.iter(f"{SVG}path") if "frame" in p.get("class"))
    drawn_px = float(re.search(r"h(\d+\.?\d*)v", frame.get("d"))[1])
    ratio = int(re.search(r"Scale 1:(\d+)", " ".join(texts(bar)))[1])
    page_px = float(root.get("viewBox").split()[2])
    paper = {"in": IN, "mm": 1_000_000}[re.sub(r"[\d.]", "", root.get("width"))]
    nm_per_px = float(re.sub(r"[a-z]", "", root.get("width"))) * paper / page_px
    assert drawn_px * nm_per_px * ratio == pytest.approx(float(length) * UNITS[unit], rel=2e-3)
