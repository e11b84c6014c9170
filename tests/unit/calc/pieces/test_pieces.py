"""What a layout of pieces along one run must say."""

from __future__ import annotations

import itertools

import msgspec
import pytest
from gapwright.calc.pieces import (
    KeepOff,
    Overlong,
    PieceLayout,
    PieceRules,
    Reach,
    Return,
    Run,
    RunZone,
    lay_pieces,
)
from gapwright.errors import InvalidRequestError

IN = 25_400_000
RULES = PieceRules(piece_nm=120 * IN, grid_nm=IN, min_piece_length_nm=24 * IN)


def run_of(length: float, *, closed: bool = False, overlap: int = 3, span: int | None = 96, **more):
    length_nm = round(length * IN)
    zone = RunZone(
        start_nm=0,
        end_nm=length_nm,
        overlap_nm=overlap * IN,
        span_nm=None if span is None else span * IN,
    )
    return Run(length_nm=length_nm, closed=closed, zones=(zone,), **more)


def tabs(*at: float) -> tuple[int, ...]:
    return tuple(round(tab * IN) for tab in at)


def reach(start: float, end: float, length: float) -> Reach:
    return Reach(start_nm=round(start * IN), end_nm=round(end * IN), return_nm=round(length * IN))


def ends(layout: PieceLayout) -> list[float]:
    return [piece.end_nm / IN for piece in layout.pieces]


def test_a_run_no_longer_than_a_piece_is_one_piece():
    layout = lay_pieces(run_of(120, tabs_nm=tabs(30, 90)), RULES)
    assert ends(layout) == [120]
    assert layout.overlaps == ()
    assert layout.mesh_nm == 120 * IN


def test_a_run_a_little_longer_than_a_piece_leaves_the_last_piece_its_least_length():
    layout = lay_pieces(run_of(121, tabs_nm=tabs(30, 90)), RULES)
    first, last = layout.pieces
    assert first.end_nm == 100 * IN
    assert last.end_nm - last.start_nm == RULES.min_piece_length_nm
    assert layout.mesh_nm == 124 * IN


def test_each_piece_begins_a_overlap_before_the_last_one_ends():
    layout = lay_pieces(run_of(400, tabs_nm=tabs(*range(10, 400, 30))), RULES)
    for before, after, overlap in zip(
        layout.pieces, layout.pieces[1:], layout.overlaps, strict=False
    ):
        assert after.start_nm == before.end_nm - 3 * IN == overlap.start_nm
        assert after.overlap_nm == overlap.overlap_nm == 3 * IN


def test_a_loop_overlaps_its_first_piece_over_its_last():
    layout = lay_pieces(run_of(200, closed=True, tabs_nm=tabs(*range(10, 200, 30))), RULES)
    first, last = layout.pieces
    assert (first.start_nm + 3 * IN) % (200 * IN) == last.end_nm
    assert len(layout.overlaps) == 2
    assert layout.mesh_nm == 206 * IN


def test_a_loop_that_one_piece_goes_round_overlaps_itself():
    layout = lay_pieces(run_of(117, closed=True, tabs_nm=tabs(10, 60)), RULES)
    (piece,) = layout.pieces
    assert piece.cut_nm == 120 * IN
    assert piece.start_nm == (piece.end_nm - 3 * IN) % (117 * IN)


def test_a_overlap_is_rounded_up_to_the_tape():
    rules = msgspec.structs.replace(RULES, grid_nm=10_000_000)
    layout = lay_pieces(run_of(400, tabs_nm=tabs(*range(10, 400, 30))), rules)
    assert {overlap.overlap_nm for overlap in layout.overlaps} == {80_000_000}
    assert all(overlap.end_nm % 10_000_000 == 0 for overlap in layout.overlaps)


def test_a_bare_side_is_held_by_returns_no_further_apart_than_the_span():
    layout = lay_pieces(run_of(480, reaches=(reach(0, 480, 20),)), RULES)
    held = [0, *(made.at_nm / IN for made in layout.returns), 480]
    assert max(b - a for a, b in itertools.pairwise(held)) <= 96
    assert len(layout.pieces) == 5
    assert len(layout.returns) == 4


def test_a_return_uses_up_mesh_of_its_piece():
    layout = lay_pieces(run_of(480, reaches=(reach(0, 480, 20),)), RULES)
    for piece in layout.pieces:
        covered = piece.end_nm - piece.start_nm
        assert piece.covered_nm == covered
        assert piece.cut_nm <= RULES.piece_nm


def test_no_return_is_made_where_tabs_are_close_enough():
    run = run_of(900, closed=True, tabs_nm=tabs(*range(0, 900, 90)), reaches=(reach(0, 900, 5),))
    assert lay_pieces(run, RULES).returns == ()


def test_tabs_exactly_a_span_apart_need_no_return_and_a_hair_more_needs_one():
    near = run_of(300, tabs_nm=tabs(60, 156, 250), reaches=(reach(0, 300, 5),))
    far = run_of(300, tabs_nm=(60 * IN, 156 * IN + 1, 250 * IN), reaches=(reach(0, 300, 5),))
    assert lay_pieces(near, RULES).returns == ()
    assert len(lay_pieces(far, RULES).returns) == 1


def test_a_return_at_the_far_end_fixes_a_run_without_tabs():
    run = run_of(90, reaches=(reach(85, 90, 20),))
    layout = lay_pieces(run, RULES)
    assert layout.returns == (Return(at_nm=90 * IN, return_nm=20 * IN, piece=0),)
    assert layout.overlong == ()


def test_a_run_with_nothing_to_fix_it_is_unsupported_from_end_to_end():
    (span,) = lay_pieces(run_of(90), RULES).overlong
    assert span == Overlong(start_nm=0, end_nm=90 * IN, length_nm=90 * IN, fixing_nm=None)


def test_what_lies_beyond_the_reach_of_a_fixing_is_reported_up_to_the_next():
    run = run_of(300, tabs_nm=tabs(50, 240))
    assert lay_pieces(run, RULES).overlong == (
        Overlong(start_nm=146 * IN, end_nm=240 * IN, length_nm=94 * IN, fixing_nm=50 * IN),
    )


def test_where_a_span_cannot_be_kept_as_little_as_can_be_is_unsupported():
    bare = (reach(0, 350, 20), reach(460, 1000, 20))
    layout = lay_pieces(run_of(1000, reaches=bare), RULES)
    (span,) = layout.overlong
    assert (span.start_nm, span.end_nm) == ((350 + 96) * IN, 460 * IN)


def test_an_unsupported_length_across_the_origin_of_a_loop_is_one():
    layout = lay_pieces(run_of(400, closed=True, tabs_nm=tabs(60, 140, 220, 300)), RULES)
    (span,) = layout.overlong
    assert (span.start_nm, span.end_nm, span.length_nm) == (396 * IN, 60 * IN, 64 * IN)


def test_overlaps_keep_off_corners_and_tabs():
    points = tuple(KeepOff(at_nm=at * IN, distance_nm=6 * IN) for at in range(0, 900, 45))
    run = run_of(900, closed=True, tabs_nm=tabs(*range(0, 900, 45)), keep_off=points)
    layout = lay_pieces(run, RULES)
    for overlap in layout.overlaps:
        past = overlap.start_nm % (45 * IN)
        assert past >= 6 * IN
        assert past + overlap.overlap_nm <= (45 - 6) * IN
        assert overlap.too_near_nm == ()
    assert layout.conflicts == ()


def test_the_longer_overlap_counts_where_a_overlap_touches_two_zones():
    zones = (
        RunZone(start_nm=0, end_nm=110 * IN, overlap_nm=6 * IN, span_nm=96 * IN),
        RunZone(start_nm=110 * IN, end_nm=220 * IN, overlap_nm=3 * IN, span_nm=96 * IN),
    )
    run = Run(length_nm=220 * IN, closed=False, zones=zones, tabs_nm=tabs(*range(10, 220, 30)))

    def only_overlap(from_in: int, to_in: int):
        barred = [*range(1, from_in + 1), *range(to_in, 220)]
        points = tuple(KeepOff(at_nm=at * IN, distance_nm=0) for at in barred)
        (overlap,) = lay_pieces(msgspec.structs.replace(run, keep_off=points), RULES).overlaps
        return overlap.start_nm / IN, overlap.end_nm / IN

    assert only_overlap(106, 112) == (106, 112)
    assert only_overlap(106, 113) == (110, 113)


def test_the_shorter_span_counts_where_a_span_touches_two_zones():
    zones = (
        RunZone(start_nm=0, end_nm=100 * IN, overlap_nm=3 * IN, span_nm=48 * IN),
        RunZone(start_nm=100 * IN, end_nm=200 * IN, overlap_nm=3 * IN, span_nm=96 * IN),
    )
    base = Run(length_nm=200 * IN, closed=False, zones=zones, reaches=(reach(0, 200, 10),))
    within = msgspec.structs.replace(base, tabs_nm=tabs(20, 60, 100, 190))
    across = msgspec.structs.replace(base, tabs_nm=tabs(20, 60, 99, 190))
    assert lay_pieces(within, RULES).returns == ()
    assert len(lay_pieces(across, RULES).returns) == 1


def test_a_span_may_be_long_in_one_zone_if_it_ends_where_the_stricter_zone_begins():
    """No limit to 150 in, then 96 in to 300 in, then 48 in: a return at each line is in time."""
    zones = (
        RunZone(start_nm=0, end_nm=150 * IN, overlap_nm=3 * IN),
        RunZone(start_nm=150 * IN, end_nm=300 * IN, overlap_nm=3 * IN, span_nm=96 * IN),
        RunZone(start_nm=300 * IN, end_nm=450 * IN, overlap_nm=3 * IN, span_nm=48 * IN),
    )
    places = (20, 150, 210, 300, 345, 390, 420)
    run = Run(
        length_nm=450 * IN,
        closed=False,
        zones=zones,
        reaches=tuple(reach(at, at, 20) for at in places),
    )
    layout = lay_pieces(run, RULES)
    assert tuple(made.at_nm // IN for made in layout.returns) == places[1:]
    assert layout.overlong == ()


def test_the_seam_ends_before_the_tab_that_a_run_starts_at():
    at = tabs(*range(5, 900, 45))
    off = tuple(KeepOff(at_nm=tab, distance_nm=3 * IN) for tab in at)
    run = run_of(900, closed=True, tabs_nm=at, keep_off=off, starts_nm=at[4:])
    first, last = (lay_pieces(run, RULES).pieces[number] for number in (0, -1))
    assert first.start_nm + first.overlap_nm == last.end_nm == at[4] - 3 * IN


def test_a_start_whose_seam_has_no_place_is_passed_over():
    at = tabs(*range(5, 900, 45))
    beside = KeepOff(at_nm=at[4] - 2 * IN, distance_nm=IN)
    run = run_of(900, closed=True, tabs_nm=at, keep_off=(beside,), starts_nm=at[4:])
    assert lay_pieces(run, RULES).pieces[-1].end_nm == at[5]


def test_without_a_tab_a_run_starts_past_a_corner_with_a_return_at_its_seam():
    corner = KeepOff(at_nm=100 * IN, distance_nm=6 * IN)
    run = run_of(
        400, closed=True, keep_off=(corner,), starts_nm=(100 * IN,), reaches=(reach(0, 400, 20),)
    )
    layout = lay_pieces(run, RULES)
    assert layout.pieces[0].start_nm == 106 * IN
    assert {106 * IN, 109 * IN} & {made.at_nm for made in layout.returns}
    assert layout.overlong == ()


def test_no_start_breaks_a_span_that_another_keeps():
    """From the first tab all joints lie where no return can be made."""
    run = run_of(
        400,
        closed=True,
        tabs_nm=tabs(0, 40, 80, 120, 160, 200),
        reaches=(reach(295.5, 295.5, 20),),
        starts_nm=(*tabs(0, 40, 80), 200 * IN),
        span=105,
    )
    off_grid = msgspec.structs.replace(run, tabs_nm=(*run.tabs_nm[:-1], round(199.5 * IN)))
    off_grid = msgspec.structs.replace(off_grid, starts_nm=(0, round(199.5 * IN)))
    assert lay_pieces(off_grid, RULES).overlong == ()


def test_an_overlap_is_longer_than_its_least_where_that_saves_a_cut_piece():
    run = run_of(230, tabs_nm=tabs(*range(10, 230, 30)))
    eager = msgspec.structs.replace(RULES, most_overlap_nm=18 * IN, cut_weight_nm=8 * IN)
    assert [piece.cut_nm // IN for piece in lay_pieces(run, RULES).pieces] != [120, 120]
    assert [piece.cut_nm // IN for piece in lay_pieces(run, eager).pieces] == [120, 120]


def test_a_overlap_without_a_place_comes_as_little_too_near_as_can_be():
    points = tuple(KeepOff(at_nm=at * IN, distance_nm=6 * IN) for at in range(0, 400, 12))
    layout = lay_pieces(run_of(400, tabs_nm=tabs(*range(6, 400, 60)), keep_off=points), RULES)
    assert layout.conflicts
    for overlap in layout.overlaps:
        assert overlap.too_near_nm
        assert overlap.start_nm % (12 * IN) in (4 * IN, 5 * IN)


def test_a_loop_off_the_grid_closes_exactly():
    run = run_of(600.375, closed=True, tabs_nm=tabs(*range(5, 600, 45)))
    layout = lay_pieces(run, RULES)
    covered = sum(piece.cut_nm for piece in layout.pieces)
    assert covered == run.length_nm + sum(overlap.overlap_nm for overlap in layout.overlaps)
    *overlaps, seam = layout.overlaps
    assert {overlap.overlap_nm for overlap in overlaps} == {3 * IN}
    assert seam.overlap_nm == 3.625 * IN


def test_a_return_a_full_span_on_may_take_a_plain_overlap_between():
    """120 in of mesh, 3 in of lap and 30 in of return leave 87 in: too little for a span."""
    layout = lay_pieces(run_of(192 + 96, reaches=(reach(96, 96, 30), reach(192, 192, 30))), RULES)
    assert [made.at_nm for made in layout.returns] == [96 * IN, 192 * IN]
    assert layout.overlong == ()
    assert len(layout.pieces) == 4


def test_a_return_at_the_start_of_a_piece_is_made_of_that_piece():
    layout = lay_pieces(run_of(300, tabs_nm=tabs(60, 250), reaches=(reach(117, 117, 20),)), RULES)
    (made,) = layout.returns
    assert made == Return(at_nm=117 * IN, return_nm=20 * IN, piece=1, at_start=True)
    assert layout.pieces[1].cut_nm == layout.pieces[1].covered_nm + 20 * IN


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"piece_nm": 0, "min_piece_length_nm": 0}, "/rules/piece_nm"),
        ({"min_piece_length_nm": 121 * IN}, "/rules/min_piece_length_nm"),
        ({"piece_nm": 3 * IN, "min_piece_length_nm": 0}, "/rules/piece_nm"),
        ({"grid_nm": 97 * IN}, "/zones/0/span_nm"),
    ],
)
def test_rules_that_lay_nothing_are_refused_at_their_place(change, pointer):
    with pytest.raises(InvalidRequestError) as refused:
        lay_pieces(run_of(300), msgspec.structs.replace(RULES, **change))
    assert pointer in [fault.pointer for fault in refused.value.faults]
