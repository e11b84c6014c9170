"""Plans that fit a printed page."""

from __future__ import annotations

import re

import pytest
from gapwright.drawing import draw_printed_legend, draw_printed_plan

from tests.unit.drawing.roofs import grid, laid
from tests.unit.make import baseline

PAGE = (680.0, 860.0)
SIZES = [(1, 1), (2, 3), (2, 6), (5, 12), (1, 40), (20, 2), (20, 20)]


def printed(rows: int, columns: int, *, beside_legend: bool = False) -> str:
    plane = laid(grid(rows, columns))
    return draw_printed_plan(plane, baseline(), "imperial", beside_legend=beside_legend)[0]


def size(svg: str) -> tuple[float, float]:
    """Return the size of a drawing [px]."""
    found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert found
    return float(found[1]), float(found[2])


@pytest.mark.parametrize("asked", SIZES)
def test_a_plan_of_any_size_fits_the_page_with_its_text(asked: tuple[int, int]):
    wide, high = size(printed(*asked))
    assert wide <= PAGE[0] + 4
    assert high <= PAGE[1] + 4


def test_a_plan_is_as_large_on_paper_as_its_scale_says():
    svg = printed(2, 6)
    found = re.search(r'width="([\d.]+)(in|mm)"', svg)
    assert found
    assert found[2] == "in"
    assert float(found[1]) == pytest.approx(size(svg)[0] / 96, abs=0.001)


def test_a_plan_leaves_room_for_the_legend_where_a_smaller_scale_does():
    svg = printed(2, 3, beside_legend=True)
    legend = draw_printed_legend([laid(grid(2, 3))], baseline(), "imperial")
    assert size(svg)[0] + size(legend)[0] <= PAGE[0]
    assert size(svg)[0] < size(printed(2, 3))[0]


def test_a_plan_that_would_get_too_small_takes_the_whole_page():
    assert printed(5, 12, beside_legend=True) == printed(5, 12)


def test_the_legend_of_several_planes_explains_each_symbol_once():
    planes = [laid(grid(2, 3)), laid(grid(2, 3))]
    legend = draw_printed_legend(planes, baseline(), "imperial")
    assert "outside corner" in legend
    assert legend.count("next piece") == 1


def test_the_name_of_a_piece_and_its_length_stay_apart_wherever_the_drawing_is_read():
    svg = printed(2, 6)
    found = re.findall(r'<text[^>]*xml:space="preserve"[^>]*>A\d+<tspan class="plain"> \d', svg)
    assert len(found) == svg.count("<tspan")
    assert len(found) > 4
