"""What is true of every whole layout, whatever the array."""

from __future__ import annotations

from itertools import pairwise

from gapwright.calc.layout.counts import counts_of, plan_cuts
from gapwright.calc.layout.lay import lay_out, outline_plane
from gapwright.calc.layout.plane import InferredRails, Plane, SideFacts
from gapwright.calc.layout.warnings import warnings_of
from gapwright.calc.outline import Module
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, unary_union

from tests.unit.make import baseline
from tests.unit.measures import IN, STEADY

WIDE, HIGH = 40, 66
MOST_ROWS, MOST_COLUMNS = 4, 6
SOME = settings(STEADY, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
CELLS = st.sets(
    st.tuples(st.integers(0, MOST_ROWS - 1), st.integers(0, MOST_COLUMNS - 1)), min_size=1
)
FACINGS = st.dictionaries(
    st.sampled_from(["eave", "ridge", "left", "right"]),
    st.builds(
        SideFacts,
        open=st.sampled_from([None, None, True]),
        zone=st.sampled_from([None, "exposed", "visible"]),
    ),
    max_size=2,
)
RAILS = st.sampled_from(
    [InferredRails(), InferredRails(per_row=3), InferredRails(direction="slope"), None]
)


def plane(cells, rails=None, facings=None, places=(), at=(0, 0)):
    return Plane(
        name="",
        modules=[
            Module(
                x_nm=at[0] + column * WIDE * IN,
                y_nm=at[1] + row * HIGH * IN,
                width_nm=WIDE * IN,
                height_nm=HIGH * IN,
            )
            for row, column in sorted(cells)
        ],
        drawn=(),
        rails=rails,
        penetrations=[(at[0] + x, at[1] + y) for x, y in places],
        sides={},
        facings=facings or {},
    )


def laid(whole):
    return lay_out(whole, outline_plane(whole, baseline()), baseline())


def counted(found):
    """Return the counts of a plane by name, lengths in nm."""
    counts = counts_of([found], baseline())
    plain = {name: one.value for name, one in counts.drivers(baseline()).items()}
    return plain | {"zones": {name: nm.value for name, nm in counts.zones_nm.items()}}


@st.composite
def planes(draw):
    cells = draw(CELLS)
    spot = st.tuples(
        st.integers(-4, MOST_COLUMNS * WIDE + 4), st.integers(-4, MOST_ROWS * HIGH + 4)
    )
    places = [(x * IN, y * IN) for x, y in draw(st.lists(spot, max_size=3))]
    return plane(cells, draw(RAILS), draw(FACINGS), places)


def zone_values(side):
    return baseline().zones[side.zone].values


@SOME
@given(CELLS, RAILS)
def test_the_perimeter_is_that_of_all_cells_less_their_shared_sides(cells, rails):
    level = sum((row, column + 1) in cells for row, column in cells)
    upright = sum((row + 1, column) in cells for row, column in cells)
    sides = 2 * (WIDE + HIGH) * len(cells) - 2 * (HIGH * level + WIDE * upright)
    assert counted(laid(plane(cells, rails)))["perimeter"] == sides * IN


MIRRORED = {"left": "right", "right": "left", "eave": "eave", "ridge": "ridge"}


@SOME
@given(CELLS, RAILS, FACINGS)
def test_an_array_mirrored_left_to_right_has_the_same_corners_tabs_and_perimeter(
    cells, rails, facings
):
    # a run goes one way round, so its pieces are others on the mirrored array
    other = plane(
        {(row, MOST_COLUMNS - 1 - column) for row, column in cells},
        rails,
        {MIRRORED[facing]: facts for facing, facts in facings.items()},
    )
    here, there = counted(laid(plane(cells, rails, facings))), counted(laid(other))
    for one in ("perimeter", "zones", "corners", "tabs"):
        assert here[one] == there[one]


@SOME
@given(planes())
def test_every_span_is_within_the_rule_or_told(whole):
    found = laid(whole)
    warnings = warnings_of(found, baseline().values)
    told = sorted(each.size_nm for each in warnings if each.kind == "overlong_span")
    over = []
    for run in found.runs:
        if not run.layout.pieces:
            continue
        length, closed = run.placed.run.length_nm, run.placed.run.closed
        fixed = sorted({*run.placed.run.tabs_nm, *(made.at_nm for made in run.layout.returns)})
        if not fixed:
            over.append(length)
            continue
        bounds = [*fixed, fixed[0] + length] if closed else sorted({0, *fixed, length})
        for before, after in pairwise(bounds):
            beyond = after - before - smallest(run.placed, before, after)
            if (
                beyond > 0
                and len({zone_values(side).return_spacing for side in run.placed.sides}) == 1
            ):
                over.append(beyond)
            elif beyond > 0:
                return  # how far a fixing reaches into a stricter zone is told in test_zones
    assert sorted(over) == told


def smallest(placed, before, after):
    """Return the shortest span of the zones that a stretch lies in."""
    length = placed.run.length_nm
    spans = []
    for side, start in zip(placed.sides, placed.starts_nm, strict=True):
        for rotation in (0, length) if placed.run.closed else (0,):
            end = start + rotation + side.length_nm
            if start + rotation < after and before < end:
                spans.append(zone_values(side).return_spacing)
    return min(spans)


@SOME
@given(planes())
def test_every_overlap_is_at_least_the_rule_of_the_sides_it_lies_on(whole):
    for run in laid(whole).runs:
        for overlap in run.layout.overlaps:
            for at in (overlap.end_nm, overlap.end_nm - 1, overlap.start_nm + 1, overlap.start_nm):
                place = at % run.placed.run.length_nm
                side = run.placed.sides[run.placed.side_at(place)]
                inner = run.placed.starts_nm[run.placed.side_at(place)] != place
                assert overlap.overlap_nm >= zone_values(side).overlap_length or not inner


@SOME
@given(planes())
def test_pieces_cover_each_run_once_and_each_overlap_twice(whole):
    for run in laid(whole).runs:
        pieces, length = run.layout.pieces, run.placed.run.length_nm
        assert pieces
        covers = [piece.covered_nm for piece in pieces]
        assert sum(covers) - sum(piece.overlap_nm for piece in pieces) == length
        for piece, cover in zip(pieces, covers, strict=True):
            end = piece.start_nm + cover
            assert (
                (end - piece.end_nm) % length == 0 if run.placed.run.closed else end == piece.end_nm
            )
            assert piece.cut_nm <= baseline().values.piece_length
        for piece, following in pairwise(pieces):
            assert (piece.end_nm - following.overlap_nm - following.start_nm) % length == 0
        if run.placed.run.closed:
            first = pieces[0]
            assert (pieces[-1].end_nm - first.overlap_nm - first.start_nm) % length == 0


@SOME
@given(planes())
def test_each_tab_corner_and_return_is_marked_on_the_pieces_that_reach_over_it(whole):
    for run in laid(whole).runs:
        marks = [mark.kind for piece in run.pieces for mark in piece.marks]
        assert marks.count("return_bend") == len(run.layout.returns)
        assert marks.count("tab") >= len(run.placed.run.tabs_nm)
        assert marks.count("penetration") >= len(set(run.placed.penetrations_nm))
        for piece in run.pieces:
            places = [mark.at_nm for mark in piece.marks]
            assert places == sorted(places)
            assert 0 <= places[0] <= places[-1] == piece.piece.cut_nm


@SOME
@given(planes())
def test_all_that_is_cut_comes_from_the_rolls_and_is_what_the_counts_say(whole):
    found = laid(whole)
    plans = plan_cuts([found], None, baseline()).value
    cut = [piece.piece.cut_nm for run in found.runs for piece in run.pieces]
    rolled = [p.length_nm for each in plans for roll in each.plan.rolls for p in roll.pieces]
    assert sorted(rolled) == sorted(cut)
    assert (counted(found)["cut_mesh"], counted(found)["pieces"]) == (sum(cut), len(cut))
    for each in plans:
        for roll in each.plan.rolls:
            assert roll.remnant_nm == roll.length_nm - sum(p.length_nm for p in roll.pieces) >= 0


@SOME
@given(planes())
def test_each_return_ends_on_a_rail_under_the_array(whole):
    found = laid(whole)
    areas = unary_union(
        [
            Polygon(array.outer.corners, [hole.corners for hole in array.holes])
            for array in found.outline.arrays
        ]
    ).buffer(2)
    for run in found.runs:
        for made in run.returns:
            assert areas.covers(LineString([made.bend, made.foot]))
            foot = Point(made.foot)
            assert min(LineString([r.start, r.end]).distance(foot) for r in found.rails) <= 2


def test_a_run_starts_so_that_its_seam_ends_before_a_rail_that_sticks_out_at_a_side():
    (run,) = laid(plane({(0, 0), (0, 1), (1, 0), (1, 1)}, InferredRails())).runs
    values = baseline().values
    first = run.layout.pieces[0]
    tabs = {first.start_nm + first.overlap_nm + values.overlap_setback_tab} & set(
        run.placed.run.tabs_nm
    )
    assert len(tabs) == 1
    assert run.placed.sides[run.placed.side_at(tabs.pop())].facing in ("left", "right")
