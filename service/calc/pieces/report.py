"""The layout told from its piece ends: lengths, laps, returns and the spans over the rule."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise

import msgspec

from service.calc.pieces.layout import Lap, Overlong, Piece, PieceLayout, Return
from service.calc.pieces.run import Run
from service.calc.pieces.trace import Best
from service.calc.pieces.track import Track
from service.calc.pieces.zones import tightest_span


class _Cut(msgspec.Struct, frozen=True, kw_only=True):
    """The end of a piece: where, with what lap onto it, and with what return."""

    at_nm: int
    lap_nm: int
    return_nm: int | None


def report(track: Track, best: Best, asked: Run) -> PieceLayout:
    """Return a layout as it lies on the run, in the direction in which it was searched.

    `asked` has the points to keep off as they were first asked for; laps are too near to some
    of them only where those have given way.
    """
    cuts = _cuts(track, best)
    held = asked.keep_off == track.run.keep_off
    pieces = tuple(_pieces(track, cuts))
    laps = tuple(
        Lap(
            start_nm=_round(track, cut.at_nm - cut.lap_nm),
            end_nm=cut.at_nm,
            lap_nm=cut.lap_nm,
            too_near_nm=() if held else _too_near(asked, cut),
        )
        for cut in (cuts if track.run.closed else cuts[:-1])
    )
    returns = tuple(
        Return(at_nm=piece.end_nm, return_nm=piece.return_nm, piece=number)
        for number, piece in enumerate(pieces)
        if piece.return_nm is not None
    )
    fixed = sorted({*track.run.tabs_nm, *(made.at_nm for made in returns)})
    return PieceLayout(
        pieces=pieces,
        laps=laps,
        returns=returns,
        overlong=tuple(_overlong(track, fixed, best.lacking_nm)),
        mesh_nm=sum(piece.cut_nm for piece in pieces),
    )


def _round(track: Track, at_nm: int) -> int:
    return at_nm % track.run.length_nm if track.run.closed else at_nm


def _cuts(track: Track, best: Best) -> list[_Cut]:
    """Return the piece ends in the order of work, on a loop from its preferred start on.

    The last of a closed loop is the end that the first piece laps.
    """
    run, cuts = track.run, []
    for end in best.ends:
        at = _round(track, track.position(end.mark))
        cuts.append(_Cut(at_nm=at, lap_nm=track.lap_at(at), return_nm=end.return_nm))
    if not run.closed:
        cuts[-1] = _Cut(at_nm=run.length_nm, lap_nm=0, return_nm=cuts[-1].return_nm)
        return cuts
    nearest = min(range(len(cuts)), key=lambda at: (cuts[at].at_nm - run.start_nm) % run.length_nm)
    return cuts[nearest + 1 :] + cuts[: nearest + 1]


def _pieces(track: Track, cuts: list[_Cut]) -> list[Piece]:
    run = track.run
    before = cuts[-1] if run.closed else _Cut(at_nm=0, lap_nm=0, return_nm=None)
    found = []
    for cut in cuts:
        covered = cut.at_nm - before.at_nm
        if run.closed and covered <= 0:
            covered += run.length_nm
        covered += before.lap_nm
        found.append(
            Piece(
                start_nm=_round(track, before.at_nm - before.lap_nm),
                end_nm=cut.at_nm,
                lap_nm=before.lap_nm,
                return_nm=cut.return_nm,
                cut_nm=covered + (cut.return_nm or 0),
            )
        )
        before = cut
    return found


def _too_near(run: Run, cut: _Cut) -> tuple[int, ...]:
    """Return the points that a lap comes nearer to than was asked [nm]."""
    found = set()
    for point in run.keep_off:
        past = cut.at_nm - point.at_nm + point.distance_nm
        if run.closed:
            past %= run.length_nm
        if 0 < past < 2 * point.distance_nm + cut.lap_nm:
            found.add(point.at_nm)
    return tuple(sorted(found))


def _overlong(track: Track, fixed: list[int], lacking: tuple[int, ...]) -> list[Overlong]:
    """Return the spans between fixings, and from open ends to them, that are over the rule."""
    run = track.run
    if not track.bound:
        return []
    if run.closed:
        bounds = [*fixed, fixed[0] + run.length_nm] if fixed else [0, run.length_nm]
    else:
        bounds = sorted({0, *fixed, run.length_nm})
    return [
        Overlong(
            start_nm=before,
            end_nm=_round(track, after),
            span_nm=tightest_span(run, before, after) or run.length_nm,
            lacking_nm=_within(run, lacking, before, after),
        )
        for before, after in pairwise(bounds)
        if after > track.reach_from(before) or not fixed
    ]


def _within(run: Run, lacking: tuple[int, ...], before: int, after: int) -> tuple[int, ...]:
    """Return the places between two fixings, on a loop in order round it [nm]."""
    found = lacking[bisect_left(lacking, before) : bisect_right(lacking, after)]
    if after > run.length_nm:
        found += lacking[: bisect_right(lacking, after - run.length_nm)]
    return found
