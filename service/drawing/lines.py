"""Geometry of lines on the page. `side` is 1 where the array lies on the left of the way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

from service.drawing.svg import Dot

Segment = tuple[Dot, Dot]
_SHARPEST = 0.5


def segments(line: Sequence[Dot]) -> Iterator[Segment]:
    """Yield the straight parts of a line that have any length."""
    for start, end in pairwise(line):
        if start != end:
            yield start, end


def length(part: Segment) -> float:
    """Return the length of a straight part."""
    (ax, ay), (bx, by) = part
    return hypot(bx - ax, by - ay)


def outward(part: Segment, side: int) -> Dot:
    """Return the direction that points away from the array, of length 1."""
    (ax, ay), (bx, by) = part
    long = hypot(bx - ax, by - ay)
    return (ay - by) / long * side, (bx - ax) / long * side


def between(part: Segment, share: float) -> Dot:
    """Return the place at a share of the way."""
    (ax, ay), (bx, by) = part
    return ax + (bx - ax) * share, ay + (by - ay) * share


def stepped(place: Dot, way: Dot, by: float) -> Dot:
    """Return the place that lies `by` further on in a direction."""
    return place[0] + way[0] * by, place[1] + way[1] * by


def beside(line: Sequence[Dot], side: int, by: float) -> list[Dot]:
    """Return a line that keeps `by` away from another; a loop stays a loop."""
    parts = list(segments(line))
    ways = [outward(part, side) for part in parts]
    first, last = stepped(parts[0][0], ways[0], by), stepped(parts[-1][1], ways[-1], by)
    corners = [
        dot
        for part, (way, then) in zip(parts, pairwise(ways), strict=False)
        for dot in _corner(part[1], way, then, by)
    ]
    if line[0] == line[-1] and len(parts) > 2:
        ends = _corner(line[0], ways[-1], ways[0], by)
        return [ends[-1], *corners, *ends]
    return [first, *corners, last]


def _corner(place: Dot, way: Dot, then: Dot, by: float) -> list[Dot]:
    """Return the corner of a line beside another: sharp, but cut where it would reach far."""
    spread = 1 + way[0] * then[0] + way[1] * then[1]
    if spread < _SHARPEST:
        return [stepped(place, way, by), stepped(place, then, by)]
    return [stepped(place, (way[0] + then[0], way[1] + then[1]), by / spread)]
