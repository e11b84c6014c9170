"""Outlines against plane geometry, an integer sequence and two libraries.

- Perimeter of n unit cells with e shared sides: 4n - 2e, holes included; on each simple ring
  the convex corners are four more than the concave ones. Both are elementary plane geometry;
  networkx counts e, the groups of cells and nothing of ours. Exact, in integers.
- OEIS A027709, least perimeter of n unit cells: its first eight terms. Exact.
- shapely 2.2 (GEOS): the union of boxes, and the mitre closing buffer(+d).buffer(-d) of boxes
  with gaps. GEOS computes in doubles: lengths agree to a millionth, areas to a part in 10^9.
- 5 x 2 portrait modules of 0.992 m x 1.640 m with 12.7 mm gaps: 2 * (5.0108 + 3.2927) m.
"""

from __future__ import annotations

from itertools import combinations
from math import sqrt

import networkx as nx
import pytest
import shapely
from gapwright.calc.outline import ArrayOutline, GapRules, Loop, Module, Outline, outline_of
from hypothesis import assume, given, settings
from hypothesis import strategies as st

SIDE_NM = 1_000_000_000
CLOSED = GapRules(max_module_gap_nm=0)

Cell = tuple[int, int]
cell_sets = st.sets(st.tuples(st.integers(0, 7), st.integers(0, 7)), min_size=1, max_size=50)


def outline_of_cells(cells: set[Cell]) -> Outline:
    modules = [
        Module(x_nm=i * SIDE_NM, y_nm=j * SIDE_NM, width_nm=SIDE_NM, height_nm=SIDE_NM)
        for i, j in sorted(cells)
    ]
    return outline_of(modules, rules=CLOSED)


def neighbours(cells: set[Cell]) -> nx.Graph:
    """The cells of an 8 x 8 grid graph that are there, joined where they share a side."""
    graph: nx.Graph = nx.grid_2d_graph(8, 8).subgraph(cells)
    return graph


def loops(outline: Outline) -> list[Loop]:
    return list(outline.loops)


def polygon(array: ArrayOutline) -> shapely.Polygon:
    exterior, *holes = (list(loop.corners) for loop in array.loops)
    return shapely.Polygon(exterior, holes)


def boxes(modules: list[Module]) -> list[shapely.Polygon]:
    return [
        shapely.box(each.x_nm, each.y_nm, each.x_nm + each.width_nm, each.y_nm + each.height_nm)
        for each in modules
    ]


@settings(max_examples=300, deadline=None)
@given(cell_sets)
def test_the_perimeter_is_four_a_cell_less_two_a_shared_side(cells: set[Cell]) -> None:
    graph = neighbours(cells)
    expected = 4 * graph.number_of_nodes() - 2 * graph.number_of_edges()
    assert outline_of_cells(cells).perimeter_nm == expected * SIDE_NM


@settings(max_examples=300, deadline=None)
@given(cell_sets)
def test_cells_that_share_sides_form_one_array(cells: set[Cell]) -> None:
    groups = nx.number_connected_components(neighbours(cells))
    assert len(outline_of_cells(cells).arrays) == groups


@settings(max_examples=300, deadline=None)
@given(cell_sets)
def test_each_ring_has_four_more_corners_one_way_than_the_other(cells: set[Cell]) -> None:
    for loop in loops(outline_of_cells(cells)):
        inside = sum(side.inside for side in loop.sides)
        outside = len(loop.sides) - inside
        assert outside - inside == (-4 if loop.sides[0].hole else 4)


@settings(max_examples=300, deadline=None)
@given(cell_sets)
def test_shapely_finds_the_same_rings(cells: set[Cell]) -> None:
    modules = [Module(x_nm=i, y_nm=j, width_nm=1, height_nm=1) for i, j in cells]
    union = shapely.union_all(boxes(modules))
    ours = shapely.union_all([polygon(each) for each in outline_of(modules, rules=CLOSED).arrays])
    assert ours.equals(union)
    theirs = [len(part.interiors) for part in shapely.get_parts(union)]
    arrays = outline_of(modules, rules=CLOSED).arrays
    assert sorted(len(array.holes) for array in arrays) == sorted(theirs)


@pytest.mark.parametrize(
    ("count", "least"), [(1, 4), (2, 6), (3, 8), (4, 8), (5, 10), (6, 10), (7, 12), (8, 12)]
)
def test_a_compact_array_has_the_least_perimeter(count: int, least: int) -> None:
    """OEIS A027709: the squarest block, filled row by row, reaches it and nothing beats it."""
    columns = -(-int(sqrt(4 * count)) // 2)
    compact = {(i % columns, i // columns) for i in range(count)}
    assert outline_of_cells(compact).perimeter_nm == least * SIDE_NM


@pytest.mark.parametrize(("count", "least"), [(2, 6), (3, 8), (4, 8), (5, 10)])
def test_no_array_has_less_than_the_least_perimeter(count: int, least: int) -> None:
    grid = [(i, j) for i in range(4) for j in range(3)]
    found = (outline_of_cells(set(cells)).perimeter_nm for cells in combinations(grid, count))
    assert min(found) == least * SIDE_NM


def test_three_by_three_without_its_centre_has_twelve_outside_and_four_in_the_hole() -> None:
    cells = {(i, j) for i in range(3) for j in range(3)} - {(1, 1)}
    (array,) = outline_of_cells(cells).arrays
    assert array.outer.perimeter_nm == 12 * SIDE_NM
    assert [hole.perimeter_nm for hole in array.holes] == [4 * SIDE_NM]


def test_two_squares_touching_at_a_corner_are_two_loops_of_eight_in_all() -> None:
    outline = outline_of_cells({(0, 0), (1, 1)})
    assert [loop.perimeter_nm for loop in loops(outline)] == [4 * SIDE_NM] * 2


def portrait_five_by_two(gap_nm: int = 12_700_000) -> list[Module]:
    across, up = 992_000_000, 1_640_000_000
    return [
        Module(x_nm=i * (across + gap_nm), y_nm=j * (up + gap_nm), width_nm=across, height_nm=up)
        for i in range(5)
        for j in range(2)
    ]


def test_five_by_two_portrait_with_gaps_is_16_607_m_round() -> None:
    rules = GapRules(max_module_gap_nm=50_800_000)
    outline = outline_of(portrait_five_by_two(), rules=rules)
    assert outline.perimeter_nm == 16_607_000_000
    assert len(loops(outline)) == 1


def test_the_same_without_closing_the_gaps_is_ten_loops_of_52_64_m() -> None:
    outline = outline_of(portrait_five_by_two(), rules=CLOSED)
    assert outline.perimeter_nm == 52_640_000_000
    assert len(loops(outline)) == 10


@st.composite
def rows_with_gaps(draw: st.DrawFn) -> list[Module]:
    """Rows of modules in millimetres, set off at will, gaps up to 60 mm, some modules missing."""
    modules, y = [], 0
    for _ in range(draw(st.integers(1, 5))):
        x = draw(st.integers(0, 1500))
        height = draw(st.sampled_from([992, 1640]))
        for _ in range(draw(st.integers(1, 6))):
            width = draw(st.sampled_from([992, 1640]))
            if draw(st.integers(0, 4)):
                modules.append((x, y, width, height))
            x += width + draw(st.integers(0, 60))
        y += height + draw(st.integers(0, 60))
    assume(modules)
    return [
        Module(x_nm=x * 10**6, y_nm=y * 10**6, width_nm=w * 10**6, height_nm=h * 10**6)
        for x, y, w, h in modules
    ]


@settings(max_examples=200, deadline=None)
@given(rows_with_gaps())
def test_closing_gaps_agrees_with_a_mitre_closing_by_shapely(modules: list[Module]) -> None:
    # The limit lies between two whole millimetres, so that no gap is a close call in doubles.
    limit_nm = 50_500_000
    grown = shapely.union_all(shapely.buffer(boxes(modules), limit_nm / 2, join_style="mitre"))
    closed = shapely.buffer(grown, -limit_nm / 2, join_style="mitre")
    rules = GapRules(max_module_gap_nm=limit_nm)
    outline = outline_of(modules, rules=rules)
    ours = shapely.union_all([polygon(array) for array in outline.arrays])
    assert ours.symmetric_difference(closed).area < 1e-9 * closed.area
    assert outline.perimeter_nm == pytest.approx(closed.length, rel=1e-6)
    assert len(outline.arrays) == len(shapely.get_parts(closed))
