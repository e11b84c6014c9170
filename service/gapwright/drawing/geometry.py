"""Lines and boxes on the page. The array is on the left of a line's direction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import ceil, hypot

import shapely

from gapwright.drawing.svg import Point

Segment = tuple[Point, Point]
Box = tuple[float, float, float, float]
"""Left, top, right and bottom on the page [px]."""


def segments(line: Sequence[Point]) -> Iterator[Segment]:
    """Yield the straight parts of a line that have any length."""
    return ((start, end) for start, end in pairwise(line) if start != end)


def length(segment: Segment) -> float:
    """Return the length of a segment."""
    (ax, ay), (bx, by) = segment
    return hypot(bx - ax, by - ay)


def direction(segment: Segment) -> Point:
    """Return the unit vector along a segment."""
    (ax, ay), (bx, by) = segment
    long = length(segment)
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
    """Return a line parallel to another on the outside; empty inside a loop too narrow for it."""
    if line[0] == line[-1]:
        # shapely takes a closed line for a ring and leaves a part out: open it between two corners
        first = line[0], line[1]
        line = [point_at(first, 0.5), *line[1:], point_at(first, 0.499)]
    parallel = shapely.offset_curve(
        shapely.LineString(line), distance, join_style="mitre", mitre_limit=2
    )
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(parallel)]


def bounding_box(points: Iterable[Point], margin: float = 0) -> Box:
    """Return the box around points."""
    xs, ys = zip(*points, strict=True)
    return min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin


def box_around(point: Point, half: float) -> Box:
    """Return a square box centered on a point."""
    return bounding_box([point], half)


def boxes_along(line: Sequence[Point], half: float) -> Iterator[Box]:
    """Yield boxes that cover a line and `half` on either side of it."""
    for part in segments(line):
        (ax, ay), (bx, by) = part
        if abs(ax - bx) < 0.5 or abs(ay - by) < 0.5:
            yield bounding_box(part, half)
        else:
            count = ceil(length(part) / (2 * half))
            yield from (box_around(point_at(part, (n + 0.5) / count), half) for n in range(count))
