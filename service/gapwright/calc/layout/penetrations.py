"""Which side each penetration belongs to, and where on it."""

from __future__ import annotations

from collections.abc import Sequence, Set

import msgspec

from gapwright.calc.layout.nearness import near_each
from gapwright.calc.layout.plane import Plane, Spot
from gapwright.calc.outline import Side
from gapwright.rulesets.values import Values


class Through(msgspec.Struct, frozen=True, kw_only=True):
    """A penetration at a side: its number on the plane, and where it is [nm from the start]."""

    number: int
    at_nm: int


def penetrations_on(
    sides: Sequence[Side], left_open: Set[int], plane: Plane, values: Values
) -> dict[int, list[Through]]:
    """Return the penetrations at each side, by the number of the side.

    Each belongs to the side of the whole plane that is nearest to it, if that is near enough; at a
    corner rather to the side with a channel than to one in `left_open`.
    """
    found: dict[int, list[Through]] = {}
    if not plane.penetrations:
        return found
    spots = [(spot, spot) for spot in plane.penetrations]
    around = near_each(spots, [ends(side) for side in sides], values.penetration_distance, "array")
    for number, (spot, near) in enumerate(zip(plane.penetrations, around, strict=True)):
        feet = [(*_foot(sides[side], spot), side) for side in near]
        if not feet:
            continue
        away, at, side = min(feet, key=lambda foot: (foot[0], foot[2] in left_open, *foot[1:]))
        if away <= values.penetration_distance:
            found.setdefault(side, []).append(Through(number=number, at_nm=at))
    return found


def ends(side: Side) -> tuple[Spot, Spot]:
    """Return where a side starts and ends on the plane [nm]."""
    return (side.start.x_nm, side.start.y_nm), (side.end.x_nm, side.end.y_nm)


def _foot(side: Side, spot: Spot) -> tuple[int, int]:
    """Return how far a spot is from a side, and where on the side it is nearest [nm]."""
    ax, ay = side.start.x_nm, side.start.y_nm
    ux, uy = side.end.x_nm - ax, side.end.y_nm - ay
    part = ((spot[0] - ax) * ux + (spot[1] - ay) * uy) / (ux * ux + uy * uy)
    part = min(max(part, 0.0), 1.0)
    dx, dy = spot[0] - ax - part * ux, spot[1] - ay - part * uy
    return round((dx * dx + dy * dy) ** 0.5), round(part * side.length_nm)
