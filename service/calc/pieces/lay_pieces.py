"""Where the pieces of channel break, lap and turn in along one run, proven the best.

Pieces are cut from the roll with at most one piece length of mesh each. As the work goes along
the run each piece laps the last, and the channel is fixed at least every span, round corners
too. Fixings are tabs, where rails cross the edge, and returns: the end of a piece turned in
under the array and braced to a rail, which uses up mesh of that piece. Returns just out of a
piece's reach would nearly double the pieces, so breaks and returns are chosen together.

The best layout has, in this order, the fewest pieces in overlong spans, the fewest pieces, the
least mesh. An overlong span counts once, and once more for every lap inside it, so that giving
up one span gives up no more than it must; a lap that begins or ends on a tab counts with the
span after it, and a loop without any fixing with all its laps. Where no fixing is possible over
more than a span the rule cannot be kept; places where fixings are lacking are spread evenly
over that stretch, the layout is made as if they were tabs, and the span is reported.

An open run begins and ends whole: its ends take no lap. They are not fixings, but the distance
from an end to the first fixing is judged like a span, and something must fix the run.

Of layouts equally good, one is taken by fixed rules: the start that comes first after the tab
where places are fewest, then from the last piece back each break as far along as it can be.
"""

from __future__ import annotations

import msgspec

from service.calc.pieces.bound import least_cost
from service.calc.pieces.check import check
from service.calc.pieces.layout import PieceLayout, Stretch
from service.calc.pieces.relax import Laid, laid
from service.calc.pieces.report import report
from service.calc.pieces.run import PieceRules, Run
from service.calc.pieces.trace import Cost
from service.calc.pieces.turn import turned, turned_back


def lay_pieces(run: Run, rules: PieceRules) -> PieceLayout:
    """Return the best layout of the pieces along one run [nm].

    Breaks stand on marks of a tape laid from the run's origin; laps are rounded up to them. Lap
    and span are the stricter ones where they touch two zones. A piece covers at least
    `least_piece_nm` and always more than the longest lap, unless the whole run is less. Where
    that leaves no place for a lap within a piece's reach, points to keep off give way in that
    stretch, then the least piece; the layout says where and how.

    Laps and returns lie differently when the work goes the other way, since a return is made of
    a piece's far end. With `either_way` both directions are tried and the better is taken, the
    run's own if they are equal; the other is spared where nothing could be better.

    Errors: BadInputError for lengths and positions that describe no run.
    Limits: the work grows with the run, with the square of the marks to a piece, and with the
    number of different returns and laps; spans many pieces long are slow on long bare edges.
    Source: exact search over all starts and breaks; checked in tests/outside/libraries.
    """
    check(run, rules)
    onward = laid(run, rules)
    cost = _cost_of_all_kept(onward)
    if rules.either_way and (cost is None or cost > least_cost(onward.track)):
        nudge = 0 if run.closed else -run.length_nm % rules.grid_nm
        around = turned(run, rules)
        back = laid(around, rules, nudge, below=cost)
        if _badness(back, around) < _badness(onward, run):
            return _turned_back(run, rules, _told(back, around))
    return _told(onward, run)


def _cost_of_all_kept(found: Laid) -> Cost | None:
    """Return the cost of a layout that keeps every rule, below which one must be to be better.

    None where rules gave way, or fixings are lacking: bounds count returns there that no layout
    can have.
    """
    best = found.best
    if best is None or found.conflicts or found.short_pieces or best.lacking_nm:
        return None
    return best.cost


def _told(found: Laid, run: Run) -> PieceLayout:
    """Return the layout that was found, or one without pieces."""
    layout = PieceLayout(pieces=(), laps=(), returns=(), overlong=())
    if found.best is not None:
        layout = report(found.track, found.best, run)
    conflicts = found.conflicts
    if run.closed:
        conflicts = tuple(
            Stretch(start_nm=part.start_nm % run.length_nm, end_nm=part.end_nm % run.length_nm)
            for part in conflicts
        )
    return msgspec.structs.replace(layout, conflicts=conflicts, short_pieces=found.short_pieces)


def _badness(found: Laid, run: Run) -> tuple[int, ...]:
    """Return what makes one direction worse than the other, the weightiest first."""
    if found.best is None:
        return (1,)
    layout = report(found.track, found.best, run)
    too_near = sum(len(lap.too_near_nm) for lap in layout.laps)
    return (0, too_near, found.short_pieces, *found.best.cost)


def _turned_back(run: Run, rules: PieceRules, layout: PieceLayout) -> PieceLayout:
    """Return a layout of the turned run as it lies on the run itself."""

    def place(at_nm: int) -> int:
        return turned_back(run, rules, at_nm)

    replace = msgspec.structs.replace
    return replace(
        layout,
        pieces=tuple(
            replace(piece, start_nm=place(piece.start_nm), end_nm=place(piece.end_nm))
            for piece in layout.pieces
        ),
        laps=tuple(
            replace(
                lap,
                start_nm=place(lap.start_nm),
                end_nm=place(lap.end_nm),
                too_near_nm=tuple(place(point) for point in lap.too_near_nm),
            )
            for lap in layout.laps
        ),
        returns=tuple(replace(made, at_nm=place(made.at_nm)) for made in layout.returns),
        overlong=tuple(
            replace(
                span,
                start_nm=place(span.start_nm),
                end_nm=place(span.end_nm),
                lacking_nm=tuple(place(at) for at in span.lacking_nm),
            )
            for span in layout.overlong
        ),
        conflicts=tuple(
            Stretch(start_nm=place(part.start_nm), end_nm=place(part.end_nm))
            for part in layout.conflicts
        ),
        backward=True,
    )
