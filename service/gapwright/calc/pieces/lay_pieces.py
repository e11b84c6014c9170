"""Where the pieces of channel break, overlap and turn in along one run: the best by the rules.

Crews cut standard pieces on the ground and work around from a rail that sticks out. So a closed
run starts at such a tab, or just past a corner where there is none, and goes one way around.
The channel is fixed at least every span: by tabs, where rails cross it, and by returns, where
one end of a piece is turned in under the array and braced to a rail. That uses up mesh of the
piece, so breaks and returns are chosen together.

The best layout has, in this order, the least unsupported length, the fewest pieces and the
least cost in mesh: all mesh, a weight for each piece that is not of standard length and one for
each return. Returns are made for support only: never beyond a tab that is within reach, and none
where no zone limits the span. None is made within the overlap at the seam of a closed run,
under three layers of mesh. Of starts equally good the first counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

import msgspec

from gapwright.calc.pieces.course import Course
from gapwright.calc.pieces.piece_layout import Overlap, PieceLayout
from gapwright.calc.pieces.report import report
from gapwright.calc.pieces.run import PieceRules, Run
from gapwright.calc.pieces.search import Found, best_cuts
from gapwright.calc.pieces.starts import fixed_seams, seam_lacks, starts_of
from gapwright.calc.pieces.zones import longest_overlap_nm
from gapwright.errors import Fault, InvalidRequestError

MOST_STARTS = 4
"""How many starts are tried at most: those that lose support give way to the next."""
FREE_PLACES = 1_000
"""Starts are tried at any rate as long as their places together are no more. On long runs all
starts come to nearly the same, and one that loses no support is enough."""


def lay_pieces(run: Run, rules: PieceRules) -> PieceLayout:
    """Return the best layout of the pieces along one run [nm].

    Where the keep-off points leave no layout, they give way for the overlaps that find no place,
    by as little as can be; then the least piece does. The layout says where and how.

    Errors: InvalidRequestError where a rule set asks for what cannot be cut.
    Limits: of the starts whose seam keeps off all points the first few are tried (MOST_STARTS,
    FREE_PLACES).
    Source: exact for each start; checked against an exact model in tests/outside/libraries.
    """
    if faults := list(_faults(run, rules)):
        raise InvalidRequestError(faults)
    short = msgspec.structs.replace(rules, min_piece_length_nm=0)
    for eased in (rules, short):
        found = _best(run, eased) or _crowded(run, eased)
        if found is not None:
            layout = report(found, run)
            return msgspec.structs.replace(layout, short_pieces=eased is short)
    return PieceLayout()


def _faults(run: Run, rules: PieceRules) -> Iterator[Fault]:
    """Yield a fault for each pair of rule values by which no piece can be cut."""
    if not 0 <= rules.min_piece_length_nm <= rules.piece_nm:
        problem = "The shortest piece is not between 0 and the piece length."
        yield Fault(path=("rules", "min_piece_length_nm"), problem=problem)
    for number, zone in enumerate(run.zones):
        if zone.overlap_nm <= 0:
            problem = "The overlap has no length."
            yield Fault(path=("zones", number, "overlap_nm"), problem=problem)
        if zone.span_nm is not None and zone.span_nm < rules.grid_nm:
            problem = "The span is shorter than the grid."
            yield Fault(path=("zones", number, "span_nm"), problem=problem)
    if rules.piece_nm < longest_overlap_nm(run, rules) + rules.grid_nm:
        problem = "A piece is no longer than its overlap."
        remedy = "Allow at least one cut increment more than the longest overlap."
        yield Fault(path=("rules", "piece_nm"), problem=problem, remedy=remedy)


def _best(run: Run, rules: PieceRules) -> Found | None:
    """Return the best layout from any of the starts that are tried.

    No start may lose support that another keeps, but few are compared for pieces and mesh alone.
    """
    best: tuple[tuple[int, int, int], Found] | None = None
    tried = places = 0
    for start in starts_of(run, rules):
        if seam_lacks(run, start):
            continue
        course = Course(run, rules, start)
        supported = False
        for found in _from_start(course):
            late = sum(part.length_nm for part in report(found, run).overlong)
            rank = late, len(found.cuts), found.cost * course.unit_nm
            best = min(best, (rank, found), key=_rank) if best else (rank, found)
            supported = supported or not found.late_nm
        tried, places = tried + 1, places + course.count
        if places >= (FREE_PLACES if supported else 8 * FREE_PLACES) or tried == MOST_STARTS:
            break
    return best[1] if best else None


def _rank(ranked: tuple[tuple[int, int, int], Found]) -> tuple[int, int, int]:
    return ranked[0]


def _from_start(course: Course) -> list[Found]:
    """Return the best layouts from one start: with a return at its seam, if it may have one."""
    seams = [Course(course.run, course.rules, seam) for seam in fixed_seams(course)]
    found = [each for seam in seams if (each := best_cuts(seam))]
    return found or [each for each in (best_cuts(course),) if each]


def _crowded(run: Run, rules: PieceRules) -> Found | None:
    """Return a layout in which overlaps are as little too near to points as can be.

    The layout that lacks least of the distances asked for, whatever its support, shows how near
    each point must let them; with that the run is laid out from the same start.
    """
    best: tuple[int, Found] | None = None
    for start in islice(starts_of(run, rules), MOST_STARTS):
        course = Course(run, rules, start, relaxed=True)
        found = best_cuts(course)
        if found and (best is None or found.late_nm + seam_lacks(run, start) < best[0]):
            best = found.late_nm + seam_lacks(run, start), found
    if best is None:
        return None
    overlaps = report(best[1], run).overlaps
    points = [
        msgspec.structs.replace(point, distance_nm=nearest)
        for point in run.keep_off
        if (nearest := min([point.distance_nm, *_distances(run, point.at_nm, overlaps)])) >= 0
    ]
    eased = msgspec.structs.replace(run, keep_off=tuple(points))
    layouts = _from_start(Course(eased, rules, best[1].course.start))
    return layouts[0] if layouts else None


def _distances(run: Run, at_nm: int, overlaps: Sequence[Overlap]) -> Iterator[int]:
    """Yield how far each overlap keeps off a point, below 0 where it lies over it [nm]."""
    for overlap in overlaps:
        for turn in (-run.length_nm, 0, run.length_nm) if run.closed else (0,):
            start = overlap.start_nm + turn
            yield max(start - at_nm, at_nm - start - overlap.overlap_nm)
