"""The name and the length of each edge, along it inside the array."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import atan2, degrees

from service.calc.layout.edges import PlacedEdge
from service.calc.layout.lay import LaidPlane
from service.drawing.ground import ZONE_PX
from service.drawing.label import Label, Seat, beyond, seated
from service.drawing.lettering import width_px
from service.drawing.lines import Segment, between, length, outward, stepped
from service.drawing.room import Room
from service.drawing.sheet import Sheet
from service.quantity.show import System, long

_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75)
_LEAST_PX = 9.0
"""An edge shorter than this on the page is not named: nobody could tell which is meant."""


def name_edges(
    laid: LaidPlane, sheet: Sheet, system: System, room: Room
) -> tuple[list[Label], int]:
    """Return a label for each edge that has room for one, and how many have none.

    Where there are several strips, an edge tells which it takes.
    """
    strips = {placed.strip for placed in laid.edges if placed.strip}
    labels = [
        _label(placed, sheet, system, room, placed.strip if len(strips) > 1 else "")
        for placed in laid.edges
    ]
    found = [label for label in labels if label]
    return found, len(labels) - len(found)


def _label(
    placed: PlacedEdge, sheet: Sheet, system: System, room: Room, strip: str
) -> Label | None:
    edge = placed.edge
    part = (
        sheet.at((edge.start.x_nm, edge.start.y_nm)),
        sheet.at((edge.end.x_nm, edge.end.y_nm)),
    )
    if length(part) < _LEAST_PX:
        return None
    more = ", left open" if placed.open else f", strip {strip}" if strip else ""
    full = f"{placed.name}: {long(edge.length_nm, system, 'up').text}{more}"
    zoned = placed.zone != "standard" and not placed.open
    inside = partial(_inside, part, zoned=zoned)
    outside = partial(_outside, part)
    ways = ((full, inside), (placed.name, inside), (full, outside), (placed.name, outside))
    found = (seated(text, seats(text), room, "t q") for text, seats in ways)
    return next((label for label in found if label), None)


def _inside(part: Segment, text: str, *, zoned: bool) -> Iterator[Seat]:
    """Yield the places inside the array: along the edge, or upright where it is too short."""
    inwards, turn = outward(part, -1), _turn(part)
    near = 16 + (ZONE_PX + 4 if zoned else 0)
    if width_px(text) <= length(part) - 16:
        for gap in (near, near + 15, near + 32):
            for share in _SHARES:
                middle = stepped(between(part, share), inwards, gap)
                yield Seat(middle=middle, turn=turn, plate=True)
    yield Seat(middle=beyond(between(part, 0.5), inwards, near - 6, text), plate=True)


def _outside(part: Segment, text: str) -> Iterator[Seat]:
    """Yield the places outside of the array, with a leader."""
    way = outward(part, 1)
    for gap in (30, 46):
        for share in (*_SHARES, 0.46, 0.54, 0.38, 0.62):
            place = between(part, share)
            leader = (stepped(place, way, 9.5), stepped(place, way, gap - 2))
            yield Seat(middle=beyond(place, way, gap, text), leader=leader)


def _turn(part: Segment) -> float:
    """Return the turn at which lettering lies along a line and reads from below or the right."""
    (ax, ay), (bx, by) = part
    angle = degrees(atan2(by - ay, bx - ax))
    if angle >= 89.9:
        angle -= 180
    elif angle < -90.1:
        angle += 180
    return 0 if abs(angle) < 0.05 else angle
