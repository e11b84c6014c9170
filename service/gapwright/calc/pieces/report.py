"""Build the layout from its cuts: pieces, overlaps, returns and the lengths without support."""

from __future__ import annotations

import numpy as np

from gapwright.calc.pieces.piece_layout import Overlap, Overlong, Piece, PieceLayout, Return
from gapwright.calc.pieces.run import Run
from gapwright.calc.pieces.search import Found
from gapwright.calc.pieces.zones import ZoneMap


def report(found: Found, asked: Run) -> PieceLayout:
    """Return a layout as it lies on the run.

    `asked` has the keep-off points as they were first asked for.
    """
    course, closed = found.course, asked.closed

    def place(at_nm: int) -> int:
        moved = at_nm + course.start.at_nm
        return moved % asked.length_nm if closed else moved

    pieces, overlaps, returns = [], [], []
    reached, held = int(course.start.overlap_nm), course.run.keep_off == asked.keep_off
    for number, cut in enumerate(found.cuts):
        start, end = int(course.at[cut.start]), int(course.at[cut.end])
        overlap = reached - start
        piece = Piece(
            start_nm=place(start),
            end_nm=place(end),
            overlap_nm=overlap,
            cut_nm=end - start + (cut.start_return_nm or 0) + (cut.return_nm or 0),
            start_return_nm=cut.start_return_nm,
            return_nm=cut.return_nm,
        )
        pieces.append(piece)
        if overlap:
            at_nm = course.start.at_nm
            near = () if held else _too_near(asked, start + at_nm, reached + at_nm)
            overlaps.append(
                Overlap(
                    start_nm=place(start),
                    end_nm=place(reached),
                    overlap_nm=overlap,
                    too_near_nm=near,
                )
            )
        for mesh, at, at_start in (
            (cut.start_return_nm, piece.start_nm, True),
            (cut.return_nm, piece.end_nm, False),
        ):
            if mesh is not None:
                returns.append(Return(at_nm=at, return_nm=mesh, piece=number, at_start=at_start))
        reached = end
    # the seam comes last, where the run closes
    overlaps = overlaps[1:] + overlaps[:1] if closed else overlaps
    return PieceLayout(
        pieces=tuple(pieces),
        overlaps=tuple(overlaps),
        returns=tuple(returns),
        overlong=overlong(asked, {*asked.tabs_nm, *(made.at_nm for made in returns)}),
    )


def overlong(run: Run, fixings: set[int]) -> tuple[Overlong, ...]:
    """Return the stretches of a run that lie beyond the reach of the fixing before them."""
    length = run.length_nm
    if all(zone.span_nm is None for zone in run.zones):
        return ()
    if not fixings:
        return (Overlong(start_nm=0, end_nm=length, length_nm=length, fixing_nm=None),)
    bounds = sorted(fixings) if run.closed else sorted({0, *fixings, length})
    if run.closed:
        bounds.append(bounds[0] + length)
    reach = ZoneMap(run, 0).reach(np.array(bounds, np.int64)).tolist()
    return tuple(
        Overlong(
            start_nm=reached % length if run.closed else reached,
            end_nm=after % length if run.closed else after,
            length_nm=after - reached,
            fixing_nm=before,
        )
        for before, reached, after in zip(bounds, reach, bounds[1:], strict=False)
        if after > reached
    )


def _too_near(run: Run, start_nm: int, end_nm: int) -> tuple[int, ...]:
    """Return the points that an overlap comes nearer to than was asked [nm]."""
    turns = (-1, 0, 1, 2) if run.closed else (0,)
    return tuple(
        sorted(
            {
                point.at_nm
                for point in run.keep_off
                for at in (point.at_nm + turn * run.length_nm for turn in turns)
                if start_nm < at + point.distance_nm and at - point.distance_nm < end_nm
            }
        )
    )
