"""Whether a layout of pieces keeps the rules of its run and says what is true of itself.

It knows the rules of the trade and nothing of the solver. Positions of a closed run are followed
on past the length, from the beginning of the first piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import msgspec
from gapwright.calc.pieces import (
    Overlap,
    Overlong,
    Piece,
    PieceLayout,
    PieceRules,
    Return,
    Run,
    lay_pieces,
)

from tests.outside.libraries.pieces_facts import return_mesh, too_near, unsupported
from tests.outside.libraries.pieces_model import (
    Answer,
    Best,
    Cut,
    Line,
    best_of_starts,
    has_tab,
    least_covered,
    lines_from,
    lines_of,
    mesh_of,
    on_run,
    overlaps_at,
    overlaps_of,
    seam_of,
    setback_of,
)

Lost = tuple[int, int, int | None]
"""From where to where nothing holds the channel, and the fixing before."""


class Laid(NamedTuple):
    """A piece with its two ends followed on along the run."""

    piece: Piece
    start: int
    end: int


def faults(run: Run, rules: PieceRules, layout: PieceLayout) -> list[str]:
    """Return what is wrong with a layout; nothing where it has no pieces."""
    if not layout.pieces:
        return []
    laid = followed(run, layout)
    return [
        *coverage_faults(run, rules, laid),
        *piece_faults(run, rules, layout, laid),
        *overlap_faults(run, rules, layout, laid),
        *return_faults(run, layout, laid),
        *start_faults(run, rules, layout, laid),
        *support_faults(run, layout, laid),
    ]


def followed(run: Run, layout: PieceLayout) -> list[Laid]:
    """Return each piece from where it begins to where it ends, on past the length."""
    laid: list[Laid] = []
    at = layout.pieces[0].start_nm if layout.pieces else 0
    for number, piece in enumerate(layout.pieces):
        at -= piece.overlap_nm if number else 0
        end = at + piece.cut_nm - (piece.start_return_nm or 0) - (piece.return_nm or 0)
        laid.append(Laid(piece, at, end))
        at = end
    return laid


def coverage_faults(run: Run, rules: PieceRules, laid: list[Laid]) -> Iterator[str]:
    """The pieces follow on one another over the whole run, on the increment they are cut on."""
    first, last = laid[0].start, laid[-1].end
    for number, (piece, start, end) in enumerate(laid):
        if (piece.start_nm, piece.end_nm) != (on_run(run, start), on_run(run, end)):
            yield f"piece {number} lies {piece.start_nm} to {piece.end_nm}, not {start} to {end}"
        if (start - first) % rules.grid_nm:
            yield f"piece {number} does not begin on the increment"
        if (end - first) % rules.grid_nm and (run.closed or number < len(laid) - 1):
            yield f"piece {number} does not end on the increment"
    if not run.closed and (first, last) != (0, run.length_nm):
        yield f"the run is covered from {first} to {last} only"
    if run.closed and last - first != run.length_nm + laid[0].piece.overlap_nm:
        yield f"the loop is covered over {last - first} with a seam of {laid[0].piece.overlap_nm}"


def piece_faults(
    run: Run, rules: PieceRules, layout: PieceLayout, laid: list[Laid]
) -> Iterator[str]:
    """Each piece can be cut, and is long enough."""
    least = least_covered(run, rules)
    if layout.short_pieces:
        least = least_covered(run, msgspec.structs.replace(rules, min_piece_length_nm=0))
    for number, (piece, start, end) in enumerate(laid):
        if piece.cut_nm > rules.piece_nm:
            yield f"piece {number} takes more mesh than a piece has"
        if len(laid) > 1 and end - start < least:
            yield f"piece {number} is shorter than the least"


def overlap_faults(
    run: Run, rules: PieceRules, layout: PieceLayout, laid: list[Laid]
) -> Iterator[str]:
    """Each overlap is within its bounds and off every point, or says which it is too near."""
    joints = [(after.start, before.end) for before, after in pairwise(laid)]
    if not run.closed and laid[0].piece.overlap_nm:
        yield "the first piece of an open run overlaps nothing"
    for low, high in joints:
        if high - low not in overlaps_at(run, rules, high):
            yield f"the overlap {low} to {high} is not of an allowed length"
    if run.closed:
        joints.append((laid[0].start, laid[-1].end - run.length_nm))
    expected = sorted(
        (on_run(run, low), on_run(run, high), high - low, sorted({*too_near(run, low, high)}))
        for low, high in joints
    )
    given = sorted(
        (overlap.start_nm, overlap.end_nm, overlap.overlap_nm, sorted({*overlap.too_near_nm}))
        for overlap in layout.overlaps
    )
    if given != expected:
        yield f"the overlaps are {expected}, not {given}"


def return_faults(run: Run, layout: PieceLayout, laid: list[Laid]) -> Iterator[str]:
    """Returns are made where a rail is in reach, of the mesh that takes, at most one a joint."""
    made = sorted(
        (each.piece, each.at_nm, each.return_nm, each.at_start) for each in layout.returns
    )
    expected = []
    for number, (piece, start, end) in enumerate(laid):
        ends = ((start, piece.start_return_nm, True), (end, piece.return_nm, False))
        for at, mesh, at_start in ends:
            if mesh is not None:
                expected.append((number, on_run(run, at), mesh, at_start))
                if return_mesh(run, at) != mesh:
                    yield f"a return at {at} takes {return_mesh(run, at)}, not {mesh}"
    if made != sorted(expected):
        yield f"the returns are {sorted(expected)}, not {made}"
    joints = list(pairwise(laid))
    if run.closed:
        joints.append((laid[-1], laid[0]))
    for before, after in joints:
        count = (before.piece.return_nm is not None) + (after.piece.start_return_nm is not None)
        if count > 1:
            yield f"two returns at the joint at {before.end}"
        if count and has_tab(run, before.end - after.piece.overlap_nm, before.end):
            yield f"a return at {before.end}, where a tab fixes the joint"


def line_of(run: Run, rules: PieceRules, layout: PieceLayout, laid: list[Laid]) -> Line | None:
    """Return the start that a layout has; None where it is none of the allowed ones."""
    first, last = laid[0].start, laid[-1].end
    turned = (laid[0].piece.start_return_nm, laid[-1].piece.return_nm).count(None) < 2
    for line in allowed_lines(run, rules, layout):
        marks = (on_run(run, line.marks[0]), line.marks[-1] - line.marks[0])
        if marks == (on_run(run, first), last - first) and (
            not run.closed or line.least_ends <= turned <= line.ends
        ):
            return line
    return None


def allowed_lines(run: Run, rules: PieceRules, layout: PieceLayout) -> Iterator[Line]:
    """Yield the starts that are allowed; where rules gave way, also nearer to the tab or corner."""
    for lines in lines_of(run, rules):
        yield from lines
    if run.closed and layout.conflicts:
        for start in run.starts_nm or (0,):
            for setback in range(setback_of(run, start)):
                yield from lines_from(run, rules, start, setback)


def start_faults(
    run: Run, rules: PieceRules, layout: PieceLayout, laid: list[Laid]
) -> Iterator[str]:
    """The work begins at an allowed start, and its seam is turned in only where it may be."""
    if line_of(run, rules, layout, laid) is None:
        yield f"no start of the run gives pieces from {laid[0].start} to {laid[-1].end}"


def lost_of(run: Run, line: Line | None, returns: list[int]) -> list[Lost]:
    """Return the stretches that tabs and returns leave unsupported.

    As they are, or as they are judged from a start whose seam is taken for two ends.
    """
    fixings = [*run.tabs_nm, *returns]
    if not run.closed:
        return unsupported(run, fixings, (0, run.length_nm))
    if line is None or line.cyclic:
        return unsupported(run, [on_run(run, at) for at in fixings], None)
    return unsupported(run, fixings, (line.marks[0], line.marks[-1]))


def returns_of(laid: list[Laid]) -> list[int]:
    """Return where the ends of pieces are turned in."""
    starts = [start for piece, start, _ in laid if piece.start_return_nm is not None]
    return starts + [end for piece, _, end in laid if piece.return_nm is not None]


def support_faults(run: Run, layout: PieceLayout, laid: list[Laid]) -> Iterator[str]:
    """What is unsupported is reported at its place and with its length, and nothing else is."""
    lost = lost_of(run, None, returns_of(laid))
    expected = [
        (on_run(run, low), on_run(run, high), high - low, fixing) for low, high, fixing in lost
    ]
    given = [
        (each.start_nm, on_run(run, each.end_nm), each.length_nm, each.fixing_nm)
        for each in layout.overlong
    ]
    if sorted(given, key=repr) != sorted(expected, key=repr):
        yield f"unsupported are {expected}, not {given}"


def measured(run: Run, rules: PieceRules, layout: PieceLayout) -> Best:
    """Return what a layout is judged by from the start that it has."""
    laid = followed(run, layout)
    line = line_of(run, rules, layout, laid) if laid else None
    lost = lost_of(run, line, returns_of(laid)) if laid else []
    return Best(
        crowded=sum(len(overlap.too_near_nm) for overlap in layout.overlaps),
        unsupported=sum(high - low for low, high, _ in lost),
        pieces=len(layout.pieces),
        cost=sum(piece.cut_nm for piece in layout.pieces)
        + rules.cut_weight_nm * sum(piece.cut_nm != rules.piece_nm for piece in layout.pieces)
        + rules.return_weight_nm * len(layout.returns),
    )


def layout_of(run: Run, rules: PieceRules, line: Line, cuts: Sequence[Cut]) -> PieceLayout:
    """Return the layout that the model's pieces make, in the solver's form."""
    overlaps = [seam_of(run, line)[1] - line.marks[0] if run.closed else 0]
    overlaps += [before.end - after.start for before, after in pairwise(cuts)]
    pieces = tuple(
        Piece(
            start_nm=on_run(run, cut.start),
            end_nm=on_run(run, cut.end),
            overlap_nm=overlap,
            cut_nm=mesh_of(run, cut),
            start_return_nm=return_mesh(run, cut.start) if cut.start_turned else None,
            return_nm=return_mesh(run, cut.end) if cut.end_turned else None,
        )
        for cut, overlap in zip(cuts, overlaps, strict=True)
    )
    returns = [at for cut in cuts for at in cut.returns()]
    overlaps = [(low, high, too_near(run, low, high)) for low, high in overlaps_of(run, line, cuts)]
    return PieceLayout(
        pieces=pieces,
        overlaps=tuple(
            Overlap(
                start_nm=on_run(run, low),
                end_nm=on_run(run, high),
                overlap_nm=high - low,
                too_near_nm=tuple(near),
            )
            for low, high, near in overlaps
        ),
        returns=tuple(
            Return(
                at_nm=on_run(run, at),
                return_nm=return_mesh(run, at) or 0,
                piece=number,
                at_start=at == cut.start,
            )
            for number, cut in enumerate(cuts)
            for at in cut.returns()
        ),
        overlong=tuple(
            Overlong(
                start_nm=on_run(run, low),
                end_nm=on_run(run, high),
                length_nm=high - low,
                fixing_nm=fixing,
            )
            for low, high, fixing in lost_of(run, None, returns)
        ),
    )


def disagreement(run: Run, rules: PieceRules) -> str | None:
    """Return where the solver's layout of a run and the exact model differ, or a rule is broken."""
    layout = lay_pieces(run, rules)
    broken = faults(run, rules, layout)
    if broken:
        return "; ".join(broken)
    gave_way = bool(layout.conflicts or layout.short_pieces or not layout.pieces)
    answers = best_of_starts(run, rules, crowd=False)
    if gave_way != (not answers):
        return f"rules gave way: {gave_way}, where {answers} are possible"
    if not layout.pieces:
        anyhow = msgspec.structs.replace(rules, min_piece_length_nm=0)
        found = best_of_starts(run, anyhow, crowd=True)
        return f"no layout, where {min(found)} is possible" if found else None
    return None if gave_way else difference(run, rules, layout, answers)


def difference(
    run: Run, rules: PieceRules, layout: PieceLayout, answers: list[Answer]
) -> str | None:
    """Return where a layout that keeps every rule is not the best, or not from the first start.

    Starts whose seam is taken for two ends are not compared with others, since what is judged
    there is not what is reported.
    """
    first = layout.pieces[0].start_nm
    if run.closed and any(not answer.line.cyclic for answer in answers):
        answers = [each for each in answers if on_run(run, each.line.marks[0]) == first]
    answer, found = min(answers), measured(run, rules, layout)
    if found != answer.best:
        return f"{found} where {answer.best} is possible from {answer.line}: {answer.cuts}"
    earlier = on_run(run, answer.line.marks[0])
    return None if first == earlier else f"it begins at {first}; {earlier} comes earlier"
