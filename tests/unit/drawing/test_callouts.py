from __future__ import annotations

from itertools import pairwise
from math import dist

import pytest
from gapwright.calc.layout.plane import Rail, SideFacts
from gapwright.calc.layout.warnings import warnings_of

from tests.unit.drawing.read import SVG, groups, paths, root_of, texts, trails
from tests.unit.drawing.roofs import drawn, grid, laid
from tests.unit.make import baseline
from tests.unit.measures import IN


def read(plane):
    return root_of(drawn(plane))


def numbers(element):
    return ["".join(t.itertext()) for t in element.iter(f"{SVG}text") if "number" in t.get("class")]


def test_a_plan_with_nothing_to_look_at_has_no_remarks():
    plane = laid(grid(2, 5))
    assert warnings_of(plane, baseline().values) == ()
    root = read(plane)
    assert not groups(root, "Remarks")
    assert not groups(root, "Callouts")


def test_each_overlong_span_is_marked_along_its_length_and_numbered():
    plane = laid(grid(3, 6, without={(1, 2), (1, 3)}), rails=None)
    spans = [span for run in plane.runs for span in run.layout.overlong]
    root = read(plane)
    marks = trails(paths(groups(root, f"{len(spans)} overlong spans")[0], "over")[0].get("d"))
    assert len(marks) == len(spans) == 2
    assert numbers(groups(root, "Callouts")[0]) == ["2", "3"]


def test_warnings_of_the_same_text_share_a_number():
    single = [*grid(1, 1), *grid(1, 1, x=48), *grid(1, 1, x=96)]
    root = read(laid(single))
    assert numbers(groups(root, "Callouts")[0]) == ["1", "1"]
    assert "(2 places)" in " ".join(texts(groups(root, "Remarks")[0]))


def test_an_unsupported_stretch_is_marked_where_it_lies():
    """One rail at the left: what it does not hold lies on the right, by the module there."""
    rail = Rail(start=(-3 * IN, 33 * IN), end=(40 * IN, 33 * IN))
    plane = laid(grid(1, 6), rails=[rail])
    (run,) = plane.runs
    line = trails(paths(groups(read(plane), "1 overlong")[0], "over")[0].get("d"))[0]
    (span,) = run.layout.overlong
    drawn_px = sum(dist(a, b) for a, b in pairwise(line))
    assert drawn_px == pytest.approx(span.length_nm / IN * 96 / 24, abs=0.5)
    assert max(x for x, _ in line) == (6 * 41 - 1) * 96 / 24


def test_each_kind_of_condition_has_one_number_and_its_words():
    plane = laid(
        [*grid(2, 3), *grid(2, 3, x=130)],
        sides={"Z-eave": SideFacts(open=True)},
        penetrations=((60 * IN, 400 * IN),),
    )
    kinds = {warning.kind for warning in warnings_of(plane, baseline().values)}
    assert kinds == {"unknown_side", "penetration_away", "arrays_near"}
    remarks = groups(read(plane), "Remarks")[0]
    assert numbers(remarks) == ["1", "2", "3"]
    told = " ".join(texts(remarks))
    for words in ("Unknown side Z-eave", "A penetration here is too far", "only 8 in apart"):
        assert words in told
