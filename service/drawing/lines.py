"""Geometry of lines on the page. `side` is 1 where the array lies on the left of the way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

from service.drawing.svg import Dot

Segment = tuple[Dot, Dot]


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
    """Return a line that keeps `by` away from another, its corners cut; a loop stays a loop."""
    found: list[Dot] = []
    for part in segments(line):
        way = outward(part, side)
        found += [stepped(part[0], way, by), stepped(part[1], way, by)]
    return [*found, found[0]] if line[0] == line[-1] else found
