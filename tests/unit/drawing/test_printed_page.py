"""Plans that fit a printed page."""

from __future__ import annotations

import re

import pytest
from gapwright.drawing import draw_printed_plan

from tests.unit.drawing.read import boxes, overlapping, root_of
from tests.unit.drawing.roofs import grid, laid
from tests.unit.make import baseline

PAGE = (680.0, 860.0)
SIZES = [(1, 1), (2, 3), (2, 6), (5, 12), (1, 40), (20, 2), (20, 20)]


def printed(rows: int, columns: int) -> str:
    return draw_printed_plan(laid(grid(rows, columns)), baseline(), "imperial")[0]


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


@pytest.mark.parametrize("asked", SIZES)
def test_every_plan_has_its_legend_on_its_page(asked: tuple[int, int]):
    svg = printed(*asked)
    assert svg.count(">Legend<") == 1
    assert "outside corner" in svg
    assert overlapping(boxes(root_of(svg))) == []


def test_a_small_plan_is_not_blown_up():
    assert "scale 1:64 " in printed(1, 1)


def test_a_plan_that_would_get_too_small_takes_the_whole_page():
    assert size(printed(2, 6))[1] < 0.77 * PAGE[1] + 5 < size(printed(20, 20))[1]
