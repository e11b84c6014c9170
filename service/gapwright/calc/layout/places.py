"""From places along a run to places on the roof plane."""

from __future__ import annotations

from gapwright.calc.layout.plane import Spot
from gapwright.calc.layout.runs import PlacedRun
from gapwright.calc.layout.sides import PlacedSide


def place_on(placed: PlacedRun, at_nm: int) -> tuple[PlacedSide, Spot]:
    """Return the side on which a place of a run lies, and where it is on the plane [nm]."""
    at_nm = at_nm % placed.run.length_nm if placed.run.closed else at_nm
    number = placed.side_at(at_nm)
    side = placed.sides[number]
    return side, along(side, at_nm - placed.starts_nm[number])


def along(placed: PlacedSide, at_nm: int) -> Spot:
    """Return where a place of a side is on the plane, counted from the side's start [nm]."""
    side = placed.side
    dx, dy = side.end.x_nm - side.start.x_nm, side.end.y_nm - side.start.y_nm
    return (
        side.start.x_nm + dx * at_nm // side.length_nm,
        side.start.y_nm + dy * at_nm // side.length_nm,
    )


def path_on(placed: PlacedRun, start_nm: int, covered_nm: int) -> list[Spot]:
    """Return the bends of a stretch of a run, from where it begins to where it ends [nm]."""
    corners = placed.passed(placed.starts_nm, start_nm, covered_nm)
    bends = [along_nm for along_nm, _ in corners if 0 < along_nm < covered_nm]
    return [place_on(placed, start_nm + at)[1] for at in (0, *bends, covered_nm)]
