"""A layout in DXF, opened again with the library's own reader."""

from __future__ import annotations

from collections import Counter
from io import StringIO
from itertools import pairwise
from math import dist

import ezdxf
import pytest
from gapwright.drawing.dxf import LAYERS, draw_dxf

from tests.unit.drawing.roofs import GAP, TALL, WIDE, grid, laid, notched
from tests.unit.measures import IN


def opened(planes, system="imperial"):
    document = ezdxf.read(StringIO(draw_dxf(planes, system)))
    assert document.audit().errors == []
    return document


def on(document, layer):
    return [entity for entity in document.modelspace() if entity.dxf.layer == layer]


def test_each_layer_has_as_many_entities_as_were_laid_out():
    plane = notched()
    found = Counter(entity.dxf.layer for entity in opened([plane]).modelspace())
    runs = plane.runs
    assert found == {
        "MODULES": 25,
        "OUTLINES": 2,
        "RAILS": len(plane.rails),
        "BARRIER": sum(len(run.pieces) for run in runs),
        "OVERLAPS": sum(len(run.layout.overlaps) for run in runs),
        "TABS": sum(len(run.placed.tabs) for run in runs),
        "RETURNS": sum(len(run.returns) for run in runs),
        "PENETRATIONS": sum(len(run.placed.penetrations_nm) for run in runs),
        "LABELS": len(plane.sides) + sum(len(run.pieces) for run in runs),
    }
    assert set(found) == set(LAYERS) - {"CLIPS"}


@pytest.mark.parametrize(
    ("system", "unit", "measurement", "unit_nm"),
    [("imperial", 1, 0, IN), ("metric", 4, 1, 1_000_000)],
)
def test_it_is_at_true_size_in_the_units_of_its_header(system, unit, measurement, unit_nm):
    plane = laid(grid(2, 5, x=7, y=3))
    document = opened([plane], system)
    assert document.header["$INSUNITS"] == unit
    assert document.header["$MEASUREMENT"] == measurement
    (outline,) = on(document, "OUTLINES")
    inches = [tuple(at * unit_nm / IN for at in point[:2]) for point in outline.get_points()]
    right, upper = 7 + 5 * (WIDE + GAP) - GAP, 3 + 2 * (TALL + GAP) - GAP
    expected = sorted([(7, 3), (right, 3), (right, upper), (7, upper)])
    assert [dist(*pair) < 1e-6 for pair in zip(sorted(inches), expected, strict=True)] == [True] * 4
    lengths_nm = [
        sum(dist(a[:2], b[:2]) for a, b in pairwise(piece.get_points())) * unit_nm
        for piece in on(document, "BARRIER")
    ]
    covered_nm = [piece.piece.covered_nm for run in plane.runs for piece in run.pieces]
    assert lengths_nm == pytest.approx(covered_nm, abs=10)


def test_labels_are_the_names_of_the_layout():
    plane = notched()
    names = [placed.name for placed in plane.sides]
    names += [piece.name for run in plane.runs for piece in run.pieces]
    assert sorted(text.dxf.text for text in on(opened([plane]), "LABELS")) == sorted(names)


def test_planes_are_side_by_side():
    first, second = on(opened([laid(grid(1, 3)), laid(grid(1, 3, x=-50))]), "OUTLINES")
    right = max(x for x, *_ in first.get_points())
    assert min(x for x, *_ in second.get_points()) > right + 100


def test_tabs_point_away_from_the_array():
    plane = laid(grid(2, 5))
    wide = 5 * (WIDE + GAP) - GAP
    ends = [tab.get_points()[1][:2] for tab in on(opened([plane]), "TABS")]
    assert len(ends) > 4
    assert all(x < 0 or x > wide for x, _ in ends)


def test_the_same_layout_gives_the_same_bytes():
    assert draw_dxf([notched()], "metric") == draw_dxf([notched()], "metric")
