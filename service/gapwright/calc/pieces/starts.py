"""Where a run may start, and with what overlap the last piece closes it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gapwright.calc.pieces.course import Course, Seam, Start
from gapwright.calc.pieces.run import PieceRules, Run
from gapwright.calc.pieces.zones import ZoneMap


def starts_of(run: Run, rules: PieceRules) -> Iterator[Start]:
    """Yield the starts of a run in the order in which they are to be preferred.

    An open run starts at its origin. A closed one starts so that the seam overlap ends before a
    tab, which is then the first fixing, or begins after a corner. The seam overlap is the least
    that is long enough and makes the run whole increments.
    """
    if not run.closed:
        yield Start(at_nm=0, overlap_nm=0, seam="open")
        return
    for place in run.starts_nm or run.tabs_nm[:1] or (0,):
        at_tab = place in run.tabs_nm
        off = max((p.distance_nm for p in run.keep_off if p.at_nm == place), default=0)
        overlap = _seam_overlap(run, rules, place - off if at_tab else place + off, ends=at_tab)
        at = (place - off - overlap if at_tab else place + off) % run.length_nm
        yield Start(at_nm=at, overlap_nm=overlap, seam="tab" if run.tabs_nm else "open")


def fixed_seams(course: Course) -> list[Start]:
    """Return the start with a return at its seam, at either side where one can be made.

    Only a run that has no tab takes one there; else it is fixed by the tab just after the seam.
    """
    start = course.start
    if start.seam == "tab" or not course.run.closed or not course.limited:
        return []
    sides: list[tuple[Seam, int]] = [("start", course.returns[0]), ("end", course.returns[-1])]
    return [
        Start(at_nm=start.at_nm, overlap_nm=start.overlap_nm, seam=seam)
        for seam, return_nm in sides
        if return_nm >= 0
    ]


def seam_lacks(run: Run, start: Start) -> int:
    """Return how much the overlap at the start lacks of the distances to keep-off points [nm]."""
    if not run.closed:
        return 0
    places = (
        (point.at_nm + turn * run.length_nm - start.at_nm, point.distance_nm)
        for point in run.keep_off
        for turn in (-1, 0, 1)
    )
    lacking = (min(start.overlap_nm - at, at) + distance for at, distance in places)
    return max(0, max(lacking, default=0))


def _seam_overlap(run: Run, rules: PieceRules, at_nm: int, *, ends: bool) -> int:
    """Return the overlap that ends, or begins, at a place and closes the run [nm]."""
    overlap = -(-run.length_nm // rules.grid_nm) * rules.grid_nm - run.length_nm or rules.grid_nm
    zones, at = ZoneMap(run, 0), np.array([at_nm], np.int64)
    while zones.overlap(at - overlap if ends else at, at if ends else at + overlap, 1)[0] > overlap:
        overlap += rules.grid_nm
    return overlap
