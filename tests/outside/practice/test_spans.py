"""Pieces, laps and spans against plain counting and against what is common practice.

Plain counting: an open run L of pieces p with laps o takes one piece if L <= p, else
ceil((L - o) / (p - o)); a closed loop takes ceil(L / (p - o)). Arithmetic, no source needed; the
figures for a run of 1,200 are worked out by hand from it. Whole numbers, so no tolerance.

Common practice, no source: pieces are cut 10 ft long, the channel is fixed every 8 ft at most,
and with laps and a return to each piece 10 ft of mesh goes about 8 ft along the edge.
"""

from __future__ import annotations

import pytest
from gapwright.calc.pieces import KeepOff, PieceRules, Reach, Run, RunZone, lay_pieces
from hypothesis import given, settings
from hypothesis import strategies as st

IN = 25_400_000
FT = 12 * IN
TEN_FOOT = PieceRules(piece_nm=10 * FT, grid_nm=IN, min_piece_length_nm=2 * FT)


def counted(length: int, piece: int, overlap: int, *, closed: bool) -> int:
    """Lay out a run with no fixings to think of, in inches; return its number of pieces."""
    zone = RunZone(start_nm=0, end_nm=length * IN, overlap_nm=overlap * IN)
    run = Run(length_nm=length * IN, closed=closed, zones=(zone,))
    return len(lay_pieces(run, PieceRules(piece_nm=piece * IN, grid_nm=IN)).pieces)


def eave(length_nm: int, return_nm: int) -> Run:
    """An open edge along a rail: no tabs, a return of one length possible everywhere."""
    return Run(
        length_nm=length_nm,
        closed=False,
        zones=(RunZone(start_nm=0, end_nm=length_nm, overlap_nm=3 * IN, span_nm=8 * FT),),
        reaches=(Reach(start_nm=0, end_nm=length_nm, return_nm=return_nm),),
    )


@pytest.mark.parametrize(("length", "pieces"), [(1200, 27), (100, 3), (48, 1), (49, 2)])
def test_pieces_of_48_with_overlaps_of_3(length, pieces):
    assert counted(length, 48, 3, closed=False) == pieces


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 400), st.integers(2, 60), st.data())
def test_an_open_run_takes_as_many_pieces_as_plain_counting_says(length, piece, data):
    overlap = data.draw(st.integers(1, piece - 1))
    wanted = 1 if length <= piece else -(-(length - overlap) // (piece - overlap))
    assert counted(length, piece, overlap, closed=False) == wanted


@settings(deadline=None, max_examples=60)
@given(st.integers(2, 400), st.integers(2, 60), st.data())
def test_a_loop_takes_as_many_pieces_as_plain_counting_says(length, piece, data):
    overlap = data.draw(st.integers(1, min(piece, length) - 1))
    assert counted(length, piece, overlap, closed=True) == -(-length // (piece - overlap))


def test_ten_feet_of_mesh_go_eight_feet_along_an_eave():
    """96 in of run, 3 in of lap and a 21 in return are 120 in: 80 ft take ten pieces."""
    layout = lay_pieces(eave(80 * FT, 21 * IN), TEN_FOOT)
    assert [made.at_nm for made in layout.returns] == [8 * FT * number for number in range(1, 10)]
    assert len(layout.pieces) == 10
    assert all(piece.cut_nm == 10 * FT for piece in layout.pieces[1:-1])


def test_returns_just_out_of_a_piece_s_reach_do_not_nearly_double_the_pieces():
    """A return of 22 in leaves 95 in. Spaced at 96 in regardless, nine spans of ten would take
    two pieces each; chosen together with the breaks they stand 95 in apart and one does."""
    layout = lay_pieces(eave(80 * FT, 22 * IN), TEN_FOOT)
    assert layout.overlong == ()
    assert len(layout.pieces) == 11


def test_an_array_with_tabs_on_its_sides_is_held_every_eight_feet_round_its_corners():
    """Forty modules in two rows: sides of 11 ft with tabs, eave and ridge of 66 ft without."""
    side, front = 11 * FT, 66 * FT
    rails = [side // 8 * place for place in (1, 3, 5, 7)]
    tabs = [front + at for at in rails] + [2 * front + side + at for at in rails]
    corners = [0, front, front + side, 2 * front + side]
    length = 2 * (front + side)
    run = Run(
        length_nm=length,
        closed=True,
        zones=(RunZone(start_nm=0, end_nm=length, overlap_nm=3 * IN, span_nm=8 * FT),),
        tabs_nm=tuple(tabs),
        reaches=(
            Reach(start_nm=0, end_nm=front, return_nm=20 * IN),
            Reach(start_nm=front + side, end_nm=2 * front + side, return_nm=20 * IN),
        ),
        keep_off=tuple(
            [KeepOff(at_nm=at, distance_nm=6 * IN) for at in corners]
            + [KeepOff(at_nm=at, distance_nm=2 * IN) for at in tabs]
        ),
    )
    layout = lay_pieces(run, TEN_FOOT)
    held = sorted([*tabs, *(made.at_nm for made in layout.returns)])
    gaps = [b - a for a, b in zip(held, [*held[1:], held[0] + length], strict=True)]
    assert layout.overlong == layout.conflicts == ()
    assert max(gaps) <= 8 * FT
    assert length / len(layout.pieces) > 8 * FT
