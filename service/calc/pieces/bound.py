"""What no layout of a run can do with less of, in whichever direction the work goes."""

from __future__ import annotations

from itertools import pairwise

from service.calc.pieces.run import Run
from service.calc.pieces.track import Track
from service.quantity.whole import whole


def least_cost(track: Track) -> tuple[int, int, int]:
    """Return a cost that no layout is below: (pieces in overlong spans, pieces, mesh) [nm].

    Each span between tabs takes as many returns as its length asks for, wherever they would be,
    and no lap is shorter than the shortest. A layout that costs no more is the best there is.
    """
    run = track.run
    lap = min(stretch.lap_nm for stretch in track.laps)
    turned = sum(_returns(track, before, after) for before, after in _spans(run))
    covered = run.length_nm + turned - (0 if run.closed else lap)
    pieces = max(whole(covered, track.piece_nm - lap), 1) if track.piece_nm > lap else 1
    laps = pieces if run.closed else pieces - 1
    return 0, pieces, laps * lap + turned


def _spans(run: Run) -> list[tuple[int, int]]:
    """Return from where to where the channel must be fixed between tabs, or open ends [nm]."""
    if not run.closed:
        return list(pairwise(sorted({0, *run.tabs_nm, run.length_nm})))
    if not run.tabs_nm:
        return []
    return list(pairwise([*run.tabs_nm, run.tabs_nm[0] + run.length_nm]))


def _returns(track: Track, before: int, after: int) -> int:
    """Return the least mesh that the returns of one span take [nm]."""
    count, reached = 0, track.reach_from(before)
    while reached < after:
        count, reached = count + 1, track.reach_from(reached)
    return count * _shortest(track.run, before, after) if count else 0


def _shortest(run: Run, before: int, after: int) -> int:
    """Return the mesh of the shortest return within reach of a span; 0 if there is none [nm]."""
    turns = (-run.length_nm, 0, run.length_nm) if run.closed else (0,)
    return min(
        (
            reach.return_nm
            for reach in run.reaches
            for turn in turns
            if reach.start_nm + turn <= after and before <= reach.end_nm + turn
        ),
        default=0,
    )
