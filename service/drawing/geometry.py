"""Lines and boxes on the page. The array is on the left of a line's direction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import ceil, hypot

from service.drawing.svg import Point

Segment = tuple[Point, Point]
Box = tuple[float, float, float, float]
"""Left, top, right and bottom on the page [px]."""

_MITER_LIMIT = 0.5


def segments(line: Sequence[Point]) -> Iterator[Segment]:
    """Yield the straight parts of a line that have any length."""
    for start, end in pairwise(line):
        if start != end:
            yield start, end


def length(segment: Segment) -> float:
    """Return the length of a segment."""
    (ax, ay), (bx, by) = segment
    return hypot(bx - ax, by - ay)


def direction(segment: Segment) -> Point:
    """Return the unit vector along a segment."""
    (ax, ay), (bx, by) = segment
    long = hypot(bx - ax, by - ay)
    return (bx - ax) / long, (by - ay) / long


def outward(segment: Segment) -> Point:
    """Return the unit vector across a segment that points away from the array."""
    dx, dy = direction(segment)
    return -dy, dx


def inward(segment: Segment) -> Point:
    """Return the unit vector across a segment that points into the array."""
    dx, dy = direction(segment)
    return dy, -dx


def point_at(segment: Segment, share: float) -> Point:
    """Return the point at a share of a segment's length."""
    (ax, ay), (bx, by) = segment
    return ax + (bx - ax) * share, ay + (by - ay) * share


def move(point: Point, vector: Point, distance: float) -> Point:
    """Return the point at a distance along a unit vector."""
    return point[0] + vector[0] * distance, point[1] + vector[1] * distance


def offset_line(line: Sequence[Point], distance: float) -> list[Point]:
    """Return a line parallel to another on the outside; a loop stays a loop."""
    parts = list(segments(line))
    normals = [outward(part) for part in parts]
    corners = [
        point
        for part, (normal, following) in zip(parts, pairwise(normals), strict=False)
        for point in _offset_corner(part[1], normal, following, distance)
    ]
    if line[0] == line[-1] and len(parts) > 2:
        ends = _offset_corner(line[0], normals[-1], normals[0], distance)
        return [ends[-1], *corners, *ends]
    first, last = parts[0][0], parts[-1][1]
    return [move(first, normals[0], distance), *corners, move(last, normals[-1], distance)]


def _offset_corner(point: Point, normal: Point, following: Point, distance: float) -> list[Point]:
    """Return the corner of a parallel line: mitered, but beveled where it would reach far."""
    spread = 1 + normal[0] * following[0] + normal[1] * following[1]
    if spread < _MITER_LIMIT:
        return [move(point, normal, distance), move(point, following, distance)]
    across = (normal[0] + following[0], normal[1] + following[1])
    return [move(point, across, distance / spread)]


def bounding_box(points: Iterable[Point], margin: float = 0) -> Box:
    """Return the box around points."""
    xs, ys = zip(*points, strict=True)
    return min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin


def box_around(point: Point, half: float) -> Box:
    """Return a square box centered on a point."""
    x, y = point
    return x - half, y - half, x + half, y + half


def boxes_along(start: Point, end: Point, half: float) -> list[Box]:
    """Return boxes that cover a straight line and `half` on either side of it."""
    (ax, ay), (bx, by) = start, end
    if abs(ax - bx) < 0.5 or abs(ay - by) < 0.5:
        return [bounding_box((start, end), half)]
    count = max(1, ceil(hypot(bx - ax, by - ay) / (2 * half)))
    return [box_around(point_at((start, end), (n + 0.5) / count), half) for n in range(count)]
