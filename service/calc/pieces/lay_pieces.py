"""Where the pieces of channel break, overlap and turn in along one run: the best by the rules.

Crews cut standard pieces on the ground and work round from a rail that sticks out. So a closed
run starts at such a tab, or just past a corner where there is none, and goes one way round.
The channel is fixed at least every span: by tabs, where rails cross it, and by returns, where
one end of a piece is turned in under the array and braced to a rail. That uses up mesh of the
piece, so breaks and returns are chosen together.

The best layout has, in this order, the least unsupported length, the fewest pieces and the
least cost in mesh: all mesh, a weight for each piece that is not of standard length and one for
each return. Of starts equally good the first counts.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.calc.pieces.check import check
from service.calc.pieces.course import Course
from service.calc.pieces.layout import PieceLayout
from service.calc.pieces.report import report
from service.calc.pieces.run import KeepOff, PieceRules, Run
from service.calc.pieces.search import Found, best_cuts
from service.calc.pieces.starts import seam_lacks, fixed_seams, starts_of

MOST_STARTS = 4
"""How many starts are tried at most: those that lose support give way to the next."""
FREE_PLACES = 2_000
"""Starts are tried at any rate as long as their places together are no more. On long runs all
starts come to nearly the same, and one that loses no support is enough."""


def lay_pieces(run: Run, rules: PieceRules) -> PieceLayout:
    """Return the best layout of the pieces along one run [nm].

    Where the keep-off points leave no layout, they give way for the overlaps that find no place,
    by as little as can be; then the least piece does. The layout says where and how.

    Errors: BadInputError for lengths and positions that describe no run.
    Limits: of the starts whose seam keeps off all points the first few are tried (MOST_STARTS,
    FREE_PLACES).
    Source: exact for each start; checked against an exact model in tests/outside/libraries.
    """
    check(run, rules)
    short = msgspec.structs.replace(rules, least_piece_nm=0)
    for number, eased in enumerate((rules, short)):
        found = _best(run, eased)
        if found is None:
            found = _best(_given_way(run, eased), eased)
        if found is not None:
            layout = report(found, run)
            return msgspec.structs.replace(layout, short_pieces=bool(number))
    return PieceLayout()


def _best(run: Run | None, rules: PieceRules) -> Found | None:
    """Return the best layout from any of the starts that are tried.

    No start may lose support that another keeps, but few are compared for pieces and mesh alone.
    """
    if run is None:
        return None
    best: tuple[tuple[int, int, int], Found] | None = None
    places = 0
    for found in _from_starts(run, rules):
        late = sum(part.length_nm for part in report(found, run).overlong)
        rank = late, len(found.cuts), found.cost * found.course.unit_nm
        if best is None or rank < best[0]:
            best = rank, found
        places += found.course.count
        if places >= FREE_PLACES and not found.late_nm:
            break
    return best[1] if best else None


def _from_starts(run: Run, rules: PieceRules) -> Iterator[Found]:
    """Yield the best layouts from the first few starts whose seam keeps off all points."""
    tried = 0
    for start in starts_of(run, rules):
        course = Course(run, rules, start)
        if seam_lacks(course):
            continue
        seams = [best_cuts(Course(run, rules, seam)) for seam in fixed_seams(course)]
        found = [each for each in seams if each] or [best_cuts(course)]
        yield from (each for each in found if each)
        tried += 1
        if tried >= min(MOST_STARTS, max(4 * FREE_PLACES // course.count, 1)):
            return


def _given_way(run: Run, rules: PieceRules) -> Run | None:
    """Return the run with its keep-off points as near to overlaps as they have to come.

    The layout that lacks least of the distances asked for, whatever its support, shows which.
    """
    best: tuple[int, Found] | None = None
    for tried, start in enumerate(starts_of(run, rules)):
        if tried == MOST_STARTS:
            break
        course = Course(run, rules, start, relaxed=True)
        found = best_cuts(course)
        if found and (best is None or found.late_nm + seam_lacks(course) < best[0]):
            best = found.late_nm + seam_lacks(course), found
    if best is None:
        return None
    layout = report(best[1], run)
    points: list[KeepOff] = []
    for point in run.keep_off:
        distances = [
            max(lap.start_nm + turn - point.at_nm, point.at_nm - lap.start_nm - turn - lap.lap_nm)
            for lap in layout.laps
            for turn in ((-run.length_nm, 0, run.length_nm) if run.closed else (0,))
        ]
        nearest = min([point.distance_nm, *distances])
        if nearest >= 0:
            points.append(msgspec.structs.replace(point, distance_nm=nearest))
    return msgspec.structs.replace(run, keep_off=tuple(points))
