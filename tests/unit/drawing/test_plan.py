from __future__ import annotations

import itertools
import re
from math import hypot

import pytest
from gapwright.calc.layout.plane import InferredRails, SideFacts
from gapwright.calc.outline import DrawnShape, Module

from tests.unit.drawing.read import (
    SVG,
    boxes,
    groups,
    overlapping,
    paths,
    root_of,
    size_of,
    texts,
    trails,
)
from tests.unit.drawing.roofs import GAP, TALL, WIDE, drawn, grid, laid, notched
from tests.unit.measures import IN


def turned():
    return [
        Module(x_nm=x * IN, y_nm=0, width_nm=WIDE * IN, height_nm=TALL * IN, turn_degrees=30.0)
        for x in (0, 120)
    ]


def gable():
    """Return an area drawn under a gable, with a square hole."""
    hole = ((100 * IN, 50 * IN), (160 * IN, 50 * IN), (160 * IN, 100 * IN), (100 * IN, 100 * IN))
    exterior = ((0, 0), (400 * IN, 0), (400 * IN, 150 * IN), (200 * IN, 260 * IN), (0, 150 * IN))
    return DrawnShape(exterior=exterior, holes=(hole,))


ALL_OPEN = {side: SideFacts(open=True) for side in ("eave", "ridge", "left", "right")}
ROOFS = {
    "three": lambda: laid(grid(1, 3)),
    "thirty": lambda: laid(grid(3, 10), penetrations=((-3 * IN, 40 * IN),)),
    "notched": notched,
    "without rails": lambda: laid(grid(2, 6, without={(0, 2)}), rails=None),
    "two arrays": lambda: laid([*grid(2, 3), *grid(1, 2, x=300)]),
    "near arrays": lambda: laid([*grid(2, 3), *grid(2, 3, x=130)]),
    "one row": lambda: laid(grid(1, 60)),
    "many arrays": lambda: laid([m for x in range(4) for m in grid(3, 1, x=70 * x)]),
    "turned": lambda: laid(turned()),
    "drawn": lambda: laid((), drawn=(gable(),)),
    "the other way round": lambda: laid(
        grid(3, 7, without={(0, 0), (1, 0)}), sides={"A1": SideFacts(open=True)}
    ),
    "all open": lambda: laid(grid(1, 2), facings=ALL_OPEN),
}


@pytest.fixture(scope="module", params=ROOFS)
def roof(request):
    return ROOFS[request.param]()


def test_every_piece_of_a_roof_is_named_on_it_once():
    for plane in (laid(grid(1, 3)), laid(grid(3, 10)), notched()):
        shown = [re.split("[ :]", text)[0] for text in texts(root_of(drawn(plane)))]
        for run in plane.runs:
            for piece in run.pieces:
                assert shown.count(piece.name) == 1


def test_as_many_tabs_overlaps_returns_and_corners_are_drawn_as_were_laid(roof):
    root = root_of(drawn(roof))
    runs = roof.runs
    overlaps = sum(len(run.layout.overlaps) for run in runs)
    drawn_overlaps = [p for g in groups(root, f"{overlaps} overlaps") for p in paths(g, "overlap")]
    assert sum(len(trails(p.get("d"))) for p in drawn_overlaps) == overlaps
    tabs = sum(len(side.tabs) for run in runs for side in run.placed.sides)
    flags = [
        p
        for g in root.iter(f"{SVG}g")
        for p in paths(g, "tab")
        if g.get("aria-label", "").endswith(" tabs")
    ]
    assert sum(p.get("d").count("M") for p in flags) == tabs
    titles = [title.text for title in root.iter(f"{SVG}title")]
    returns = sum(len(run.layout.returns) for run in runs)
    assert sum(title.startswith("Return of ") for title in titles) == returns
    corners = sum(len(run.placed.sides) - (not run.placed.run.closed) for run in runs)
    signs = [p for name in ("outside", "inside") for p in _corner_signs(root, name)]
    assert sum(p.get("d").count("M") for p in signs) == corners


def _corner_signs(root, name):
    return [
        p
        for g in root.iter(f"{SVG}g")
        if g.get("aria-label", "").endswith(f"{name} corners")
        for p in paths(g, "corner")
    ]


@pytest.mark.parametrize(("rows", "columns", "ratio"), [(1, 3, 12), (2, 5, 24), (3, 10, 48)])
def test_each_piece_lies_to_scale_on_the_side_of_the_array(rows, columns, ratio):
    plane = laid(grid(rows, columns))
    each = 96 / ratio
    wide = (columns * (WIDE + GAP) - GAP) * each
    tall = (rows * (TALL + GAP) - GAP) * each
    root = root_of(drawn(plane))
    assert f"scale 1:{ratio} " in " ".join(texts(root))
    shown = [
        (p.find(f"{SVG}title").text.split(",")[0], trails(p.get("d"))[0])
        for g in groups(root, "Run A")
        for kind in ("p0", "p1", "p2")
        for p in paths(g, kind)
    ]
    lengths = {}
    for name, dots in shown:
        for (ax, ay), (bx, by) in itertools.pairwise(dots):
            middle = ((ax + bx) / 2, (ay + by) / 2)
            for x, y in ((ax, ay), middle, (bx, by)):
                assert min(abs(x), abs(x - wide), abs(y), abs(y - tall)) < 0.06
                assert -0.06 < x < wide + 0.06
                assert -0.06 < y < tall + 0.06
        pairs = itertools.pairwise(dots)
        lengths[name] = sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairs)
    for named in plane.runs[0].pieces:
        covered = named.piece.covered_nm / IN * each
        assert lengths[named.name] == pytest.approx(covered, abs=0.5)


def test_modules_are_true_rectangles_in_their_places():
    root = root_of(drawn(laid(grid(2, 5))))
    data = paths(groups(root, "10 modules")[0], "module")[0].get("d")
    found = re.findall(r"M(\S+) (\S+?)v(\S+?)h(\S+?)v(\S+?)z", data)
    each = 96 / 24
    tall = (2 * (TALL + GAP) - GAP) * each
    corners = {(round(float(x)), round(float(y))) for x, y, *_ in found}
    assert corners == {
        (round(c * (WIDE + GAP) * each), round(tall - r * (TALL + GAP) * each))
        for r in range(2)
        for c in range(5)
    }
    for _, _, up, right, down in found:
        assert (float(up), float(right), float(down)) == (-TALL * each, WIDE * each, TALL * each)


def test_a_turned_module_keeps_its_sides_and_its_right_angles():
    module = Module(x_nm=0, y_nm=0, width_nm=40 * IN, height_nm=66 * IN, turn_degrees=30.0)
    root = root_of(drawn(laid([module])))
    scale = int(re.search(r"scale 1:(\d+)", " ".join(texts(root)))[1])
    a, b, c, d = trails(paths(root, "module")[0].get("d"))[0]
    each = 96 / scale
    assert hypot(b[0] - a[0], b[1] - a[1]) == pytest.approx(40 * each, abs=0.15)
    assert hypot(d[0] - a[0], d[1] - a[1]) == pytest.approx(66 * each, abs=0.15)
    assert hypot(c[0] - a[0], c[1] - a[1]) == pytest.approx(hypot(40, 66) * each, abs=0.15)
    assert b[1] < a[1], "a turn anticlockwise lifts the right end"


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_sides_and_the_whole_array_carry_their_lengths(system):
    root = root_of(drawn(laid(grid(2, 5)), system))
    wide, tall = ("17 ft", "11 ft 1 in") if system == "imperial" else ("5.182 m", "3.379 m")
    shown = texts(root)
    for text in (f"A1: {wide}", f"A2: {tall}", f"A3: {wide}", f"A4: {tall}", wide, tall):
        assert text in shown


def test_the_eave_is_below_and_the_ridge_above():
    heights = {text: box[1] for text, box in boxes(root_of(drawn(laid(grid(2, 5)))))}
    assert heights["RIDGE, upslope"] < heights["A3: 17 ft"]
    assert heights["A3: 17 ft"] < heights["A1: 17 ft"] < heights["EAVE, downslope"]


def test_no_lettering_overlaps_another_and_none_is_cut_off(roof):
    for system in ("imperial", "metric"):
        root = root_of(drawn(roof, system))
        found = boxes(root)
        assert overlapping(found) == []
        wide, tall = size_of(root)
        for text, (left, top, right, bottom) in found:
            assert left > 10, text
            assert top > 10, text
            assert right < wide - 10, text
            assert bottom < tall - 10, text


@pytest.mark.parametrize(("direction", "axis"), [("eave", 1), ("slope", 0)])
def test_a_return_goes_from_its_piece_to_a_rail_under_the_array(direction, axis):
    plane = laid(grid(2, 10), rails=InferredRails(direction=direction))
    wide, tall = (10 * (WIDE + GAP) - GAP) * 96 / 48, (2 * (TALL + GAP) - GAP) * 96 / 48
    group = groups(root_of(drawn(plane)), "Returns")[0]
    lines = [trails(p.get("d"))[0] for p in group.iter(f"{SVG}path")]
    assert len(lines) == len(plane.runs[0].returns) > 0
    places = [rail.start[axis] / IN * 96 / 48 for rail in plane.rails]
    rails = [tall - place for place in places] if axis else places
    for bend, end in lines:
        assert min(abs(bend[0]), abs(bend[0] - wide), abs(bend[1]), abs(bend[1] - tall)) < 0.1
        assert min(abs(end[axis] - rail) for rail in rails) < 0.1
        assert 0 < end[0] < wide
        assert 0 < end[1] < tall


def dimensions(root, axis):
    return [text for group in groups(root, axis) for text in texts(group)]


def test_one_array_has_its_overall_dimensions():
    root = root_of(drawn(laid(grid(2, 5))))
    assert dimensions(root, "Widths") == ["17 ft"]
    assert dimensions(root, "Depths") == ["11 ft 1 in"]


def test_walkways_between_arrays_and_their_offsets_have_dimensions():
    """Two arrays side by side with a walkway of 3 ft, the right one 2 ft 6 in further up."""
    first, second = grid(2, 5), grid(2, 5, x=5 * (WIDE + GAP) - GAP + 36, y=30)
    root = root_of(drawn(laid([*first, *second])))
    assert dimensions(root, "Widths") == ["17 ft", "3 ft", "17 ft", "37 ft"]
    assert dimensions(root, "Depths") == ["2 ft 6 in", "8 ft 7 in", "2 ft 6 in", "13 ft 7 in"]


def test_dimensions_are_to_scale_and_where_the_arrays_are():
    root = root_of(drawn(laid([*grid(1, 2), *grid(1, 1, x=180)])))
    px = 96 / int(re.search(r"scale 1:(\d+)", " ".join(texts(root)))[1])
    lines = trails(paths(groups(root, "Widths")[0], "line")[0].get("d"))
    levels = [line for line in lines if line[0][1] == line[1][1]]
    assert [x / px for x, _ in levels[0]] == pytest.approx([0, 220], abs=0.1)
    ticks = sorted({x for line in lines if line[0][0] == line[1][0] for x, _ in line})
    assert [x / px for x in ticks] == pytest.approx([0, 81, 180, 220], abs=0.1)


def test_two_thousand_modules_are_one_path_and_every_second_piece_is_named_at_least():
    plane = laid(grid(40, 50))
    svg = drawn(plane)
    root = root_of(svg)
    assert len(paths(groups(root, "2000 modules")[0], "module")) == 1
    assert len(svg) < 60 * 2000
    shown = [re.split("[ :]", text)[0] for text in texts(root)]
    named = [piece.name for piece in plane.runs[0].pieces if piece.name in shown]
    assert len(named) >= len(plane.runs[0].pieces) // 2
    assert overlapping(boxes(root)) == []
