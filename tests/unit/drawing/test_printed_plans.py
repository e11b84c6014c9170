"""Plans that fit a printed page."""

from __future__ import annotations

import re

import pytest

from service.calc.layout.lay import LaidPlane
from service.drawing import draw_printed_plans
from service.drawing.printed_plans import PrintedPlans
from tests.unit.sheet.jobs import block, example, printed, rules

PAGE = (680.0, 860.0)
SIZES = [(1, 1), (2, 3), (2, 6), (5, 12), (1, 40), (20, 2), (20, 20)]


def planes(*sizes: tuple[int, int]) -> list[LaidPlane]:
    asked = [block(rows, columns) for rows, columns in sizes]
    request = example("quote-house") | {"planes": asked, "alternatives": False}
    job = printed(request).found.job
    assert job is not None
    return [area.plane for area in job.laid]


def size(svg: str) -> tuple[float, float]:
    """Return the size of a drawing [px]."""
    found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert found
    return float(found[1]), float(found[2])


def ratio(fitted: PrintedPlans, at: int = 0) -> int:
    found = re.search(r"Scale 1:(\d+)", fitted.plans[at].svg)
    assert found
    return int(found[1])


@pytest.mark.parametrize("asked", SIZES)
def test_a_plan_of_any_size_fits_the_page_with_its_lettering(asked: tuple[int, int]):
    fitted = draw_printed_plans(planes(asked), rules(), "imperial", PAGE)
    wide, high = size(fitted.plans[0].svg)
    assert wide <= PAGE[0] + 4
    assert high <= PAGE[1] + 4


def test_a_plan_is_as_large_on_paper_as_its_scale_says():
    svg = draw_printed_plans(planes((2, 6)), rules(), "imperial", PAGE).plans[0].svg
    wide, unit = re.search(r'width="([\d.]+)(in|mm)"', svg).groups()
    assert unit == "in"
    assert float(wide) == pytest.approx(size(svg)[0] / 96, abs=0.001)


def test_the_last_plan_leaves_room_for_the_legend_where_a_smaller_scale_does():
    fitted = draw_printed_plans(planes((2, 3), (2, 3)), rules(), "imperial", PAGE)
    beside = size(fitted.plans[1].svg)[0] + size(fitted.narrow_legend)[0]
    assert beside <= PAGE[0] + 4
    assert ratio(fitted, 1) > ratio(fitted, 0)


def test_the_legend_explains_the_signs_of_all_plans():
    fitted = draw_printed_plans(planes((2, 3), (2, 3)), rules(), "imperial", PAGE)
    for legend in (fitted.legend, fitted.narrow_legend):
        assert "outside corner" in legend
        assert legend.count("the next piece") == 1


def test_the_name_of_a_piece_and_its_length_stay_apart_wherever_the_drawing_is_read():
    svg = draw_printed_plans(planes((2, 6)), rules(), "imperial", PAGE).plans[0].svg
    found = re.findall(r'<text[^>]*xml:space="preserve"[^>]*>A[.]\d+<tspan class="plain"> \d', svg)
    assert len(found) == svg.count("<tspan")
    assert len(found) > 4
