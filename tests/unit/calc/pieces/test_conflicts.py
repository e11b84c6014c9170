"""What is done where the rules leave no place for a lap."""

from __future__ import annotations

import msgspec

from service.calc.pieces import KeepOff, PieceRules, Run, Stretch, Zone, lay_pieces

IN = 25_400_000
RULES = PieceRules(piece_nm=120 * IN, grid_nm=IN, least_piece_nm=24 * IN)


def run_of(length: int, *, closed: bool, points: list[tuple[float, float]]) -> Run:
    zone = Zone(start_nm=0, end_nm=length * IN, lap_nm=3 * IN, span_nm=96 * IN)
    return Run(
        length_nm=length * IN,
        closed=closed,
        zones=(zone,),
        tabs_nm=tuple(at * IN for at in range(10, length, 30)),
        keep_off=tuple(
            KeepOff(at_nm=round(at * IN), distance_nm=round(far * IN)) for at, far in points
        ),
    )


def test_a_stretch_with_no_place_for_a_lap_is_told():
    layout = lay_pieces(run_of(400, closed=False, points=[(200, 70)]), RULES)
    assert layout.conflicts == (Stretch(start_nm=130 * IN, end_nm=273 * IN),)


def test_the_run_is_laid_out_all_the_same_with_the_lap_half_as_far_away():
    layout = lay_pieces(run_of(400, closed=False, points=[(200, 70)]), RULES)
    near = [lap for lap in layout.laps if lap.too_near_nm]
    assert layout.pieces[-1].end_nm == 400 * IN
    assert [lap.too_near_nm for lap in near] == [(200 * IN,)]
    for lap in layout.laps:
        assert lap.end_nm <= (200 - 35) * IN or lap.start_nm >= (200 + 35) * IN
    assert not layout.short_pieces


def test_only_the_point_in_the_way_gives_way():
    points = [(60, 20), (200, 70), (340, 20)]
    layout = lay_pieces(run_of(400, closed=False, points=points), RULES)
    assert {near for lap in layout.laps for near in lap.too_near_nm} == {200 * IN}


def test_points_that_need_not_give_way_are_put_back():
    points = [(155, 12), (200, 70), (245, 12)]
    layout = lay_pieces(run_of(400, closed=False, points=points), RULES)
    assert {near for lap in layout.laps for near in lap.too_near_nm} == {200 * IN}


def test_a_lap_lies_over_a_point_only_where_points_stand_shoulder_to_shoulder():
    points = [(at, 0) for at in range(100, 300, 2)]
    layout = lay_pieces(run_of(400, closed=False, points=points), RULES)
    assert layout.conflicts == (Stretch(start_nm=100 * IN, end_nm=301 * IN),)
    assert any(lap.too_near_nm for lap in layout.laps)


def test_a_loop_with_no_place_for_a_lap_gives_way_too():
    points = [(at, 40) for at in range(0, 400, 50)]
    layout = lay_pieces(run_of(400, closed=True, points=points), RULES)
    (whole,) = layout.conflicts
    assert whole.start_nm == whole.end_nm
    assert len(layout.pieces) == 4


def test_a_run_that_cannot_be_cut_without_a_short_piece_is_cut_with_one():
    rules = msgspec.structs.replace(RULES, least_piece_nm=70 * IN)
    layout = lay_pieces(run_of(121, closed=False, points=[]), rules)
    assert layout.short_pieces
    assert layout.conflicts != ()
    assert len(layout.pieces) == 2


def test_what_gives_way_is_the_same_every_time():
    run = run_of(400, closed=True, points=[(at, 40) for at in range(0, 400, 50)])
    assert lay_pieces(run, RULES) == lay_pieces(run, RULES)
