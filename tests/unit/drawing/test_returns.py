from __future__ import annotations

from math import isqrt

import pytest

from service.calc.layout.places import place_on
from service.calc.layout.plane import InferredRails, Rail
from service.drawing.returns import return_end
from tests.unit.drawing.roofs import grid, laid
from tests.unit.make import baseline
from tests.unit.measures import IN


def end_of(edge, bend, mesh_nm, rails, backward=False):
    return return_end(edge, bend, mesh_nm, rails, baseline().values, backward=backward)


def ends(plane):
    for run in plane.runs:
        for made in run.layout.returns:
            edge, bend = place_on(run.placed, made.at_nm)
            backward = run.layout.backward
            yield made, bend, end_of(edge.edge, bend, made.return_nm, plane.rails, backward)


@pytest.mark.parametrize("direction", ["eave", "slope"])
def test_a_return_ends_on_a_rail_one_leg_along_the_edge(direction):
    plane = laid(grid(3, 10), rails=InferredRails(direction=direction))
    values = baseline().values
    across, along = (0, 1) if direction == "eave" else (1, 0)
    places = {rail.start[along] for rail in plane.rails}
    found = list(ends(plane))
    assert found
    for made, bend, end in found:
        assert end[along] in places
        assert abs(end[across] - bend[across]) == values.return_leg
        away = end[along] - bend[along]
        mesh = isqrt(away * away + values.return_leg**2) + values.return_tab
        assert 0 <= made.return_nm - mesh <= values.tape_grid


def test_a_return_turns_in_under_the_array_as_the_work_goes():
    plane = laid(grid(1, 3))
    (run,) = plane.runs
    assert not run.layout.backward
    for made, bend, end in ends(plane):
        edge, ahead = place_on(run.placed, made.at_nm + IN)
        assert edge.edge.facing in ("eave", "ridge")
        assert (ahead[0] - bend[0]) * (end[0] - bend[0]) > 0
        assert 0 < end[1] < 66 * IN


def test_where_no_rail_fits_there_is_no_end():
    plane = laid(grid(1, 3))
    (edge, *_) = plane.edges
    rail = Rail(start=(0, 60 * IN), end=(122 * IN, 60 * IN))
    assert end_of(edge.edge, (40 * IN, 0), 19 * IN, [rail]) is None


def test_work_the_other_way_round_turns_a_return_the_other_way():
    plane = laid(grid(1, 3))
    (edge, *_) = plane.edges
    (made, *_) = (made for run in plane.runs for made in run.layout.returns)
    bend = (60 * IN, 0)
    leg = baseline().values.return_leg
    forward = end_of(edge.edge, bend, made.return_nm, plane.rails)
    backward = end_of(edge.edge, bend, made.return_nm, plane.rails, backward=True)
    assert forward[0] - bend[0] == bend[0] - backward[0] == leg


def test_at_the_end_of_a_rail_a_return_turns_to_where_the_rail_is():
    rail = Rail(start=(0, 14 * IN), end=(50 * IN, 14 * IN))
    (edge, *_) = laid(grid(1, 3)).edges
    mesh = 19 * IN  # a diagonal of 16.1 in and a tab of 2 in, on whole inches
    assert end_of(edge.edge, (45 * IN, 0), mesh, [rail]) == (37 * IN, 14 * IN)


def test_near_a_corner_a_return_turns_back_and_stays_under_the_array():
    rail = Rail(start=(-3 * IN, 14 * IN), end=(123 * IN, 14 * IN))
    (edge, *_) = laid(grid(1, 3)).edges
    width, mesh = edge.edge.length_nm, 19 * IN
    near_end, near_start = (width - 7 * IN, 0), (7 * IN, 0)
    assert end_of(edge.edge, near_end, mesh, [rail]) == (width - 15 * IN, 14 * IN)
    assert end_of(edge.edge, near_start, mesh, [rail], backward=True) == (15 * IN, 14 * IN)
    assert end_of(edge.edge, near_start, mesh, [rail]) == (15 * IN, 14 * IN)


def test_a_rail_a_hair_out_of_level_has_the_ends_of_its_returns():
    rails = [Rail(start=(-3 * IN, 14 * IN), end=(500 * IN, 14 * IN + 800_000))]
    plane = laid(grid(1, 12), rails=rails)
    found = [end for made, bend, end in ends(plane) if bend[1] == 0]
    assert found
    assert None not in found
