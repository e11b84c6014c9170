"""Where the returns of a run lie: each from its bend in a side to its foot on a rail."""

from __future__ import annotations

import msgspec

from gapwright.calc.layout.places import place_on
from gapwright.calc.layout.plane import Spot
from gapwright.calc.layout.runs import PlacedRun
from gapwright.calc.layout.sides import PlacedSide
from gapwright.calc.layout.supports import Beside, Direction
from gapwright.calc.pieces import Return


class PlacedReturn(msgspec.Struct, frozen=True, kw_only=True):
    """A return with its side, its bend and its foot on the roof plane, and its direction.

    `onward` is the direction in which the pieces are set, `back` the other.
    """

    made: Return
    side: PlacedSide
    bend: Spot
    foot: Spot
    direction: Direction


def place_return(placed: PlacedRun, made: Return) -> PlacedReturn:
    """Return where a return lies: away from its piece if it can, so that it need not fold back."""
    wanted = "back" if made.at_start else "onward"
    side, beside = min(
        _reaches_at(placed, made),
        key=lambda found: (found[1].direction != wanted, found[1].away_nm),
    )
    bend = place_on(placed, made.at_nm)[1]
    dx = side.side.end.x_nm - side.side.start.x_nm
    dy = side.side.end.y_nm - side.side.start.y_nm
    along, away, length = beside.leg_nm, beside.away_nm, side.side.length_nm
    foot = (
        bend[0] + round((dx * along - dy * away) / length),
        bend[1] + round((dy * along + dx * away) / length),
    )
    return PlacedReturn(made=made, side=side, bend=bend, foot=foot, direction=beside.direction)


def _reaches_at(placed: PlacedRun, made: Return) -> list[tuple[PlacedSide, Beside]]:
    """Return the reaches from which a return of that mesh can be made at its place.

    At a corner they are those of either side.
    """
    length = placed.run.length_nm
    return [
        (side, beside)
        for side, start in zip(placed.sides, placed.starts_nm, strict=True)
        for at in {made.at_nm - start, made.at_nm - start + (length if placed.run.closed else 0)}
        for beside in side.reaches
        if beside.return_nm == made.return_nm and beside.start_nm <= at <= beside.end_nm
    ]
