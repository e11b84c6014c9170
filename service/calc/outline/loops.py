"""From the runs of an area to rings of points: one outer ring and its holes for each array."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from service.calc.outline.edges import ABOVE, BELOW, Region, Ring
from service.calc.outline.sweep import facing

Place = tuple[int, int]
Ends = dict[Place, Place]

_UP, _LEFT, _DOWN, _RIGHT = range(4)


class Rings(NamedTuple):
    """One array: its outer ring anticlockwise and its holes clockwise."""

    outer: Ring
    holes: tuple[Ring, ...] = ()


def rings_of(region: Region) -> list[Rings]:
    """Return the arrays of a region, in no particular order.

    Parts that touch at a corner only are arrays of their own. No ring touches itself.
    """
    rings = [ring for walk in _walks(region) for ring in _simple(walk)]
    if all(twice_area(ring) > 0 for ring in rings):
        return [Rings(ring) for ring in rings]
    return _gathered(rings, region)


def from_lowest(ring: Ring) -> Ring:
    """Return the ring started at its lowest corner, the leftmost of those."""
    first = min(range(len(ring)), key=lambda i: (ring[i][1], ring[i][0]))
    return ring[first:] + ring[:first]


def twice_area(ring: Ring) -> int:
    """Return twice the area of a ring, negative where it runs clockwise."""
    return sum(x * v - u * y for (x, y), (u, v) in zip(ring, ring[1:] + ring[:1], strict=True))


def _walks(region: Region) -> Iterator[list[Place]]:
    """Yield closed walks with the material on the left."""
    ends = _ends(region)
    for first in (_UP, _DOWN):
        while ends[first]:
            yield _walk(ends, first)


def _walk(ends: tuple[Ends, Ends, Ends, Ends], first: int) -> list[Place]:
    """Return the walk that begins in the direction `first`, taking its runs out of `ends`.

    Where two areas touch at a corner there are two ways on; the left one stays on its own area.
    """
    start, here = ends[first].popitem()
    walk, direction = [start], first
    while True:
        left = (direction + 1) % 4
        closes_left = here == start and left == first
        direction = left if closes_left or here in ends[left] else (direction + 3) % 4
        if here == start and direction == first:
            return walk
        walk.append(here)
        here = ends[direction].pop(here)


def _ends(region: Region) -> tuple[Ends, Ends, Ends, Ends]:
    """Return where each run leads from its start, by direction: up, left, down, right."""
    return (
        {(line, low): (line, high) for line, low, high, side in region.upright if side == BELOW},
        {(high, line): (low, line) for line, low, high, side in region.level if side == BELOW},
        {(line, high): (line, low) for line, low, high, side in region.upright if side == ABOVE},
        {(low, line): (high, line) for line, low, high, side in region.level if side == ABOVE},
    )


def _simple(walk: list[Place]) -> Iterator[Ring]:
    """Yield the walk cut into rings that pass no corner twice."""
    path: list[Place] = []
    passed: dict[Place, int] = {}
    for place in walk:
        if place not in passed:
            passed[place] = len(path)
            path.append(place)
            continue
        cut = passed[place]
        yield tuple(path[cut:])
        for left in path[cut + 1 :]:
            del passed[left]
        del path[cut + 1 :]
    yield tuple(path)


def _gathered(rings: list[Ring], region: Region) -> list[Rings]:
    """Return the rings sorted into arrays: two rings with material between them belong together."""
    ring_at = {
        (x, min(y, next_y)): number
        for number, ring in enumerate(rings)
        for (x, y), (next_x, next_y) in zip(ring, ring[1:] + ring[:1], strict=True)
        if x == next_x
    }
    leader = list(range(len(rings)))
    for first, second, _, _ in facing(region.upright, ABOVE):
        one, other = find(leader, ring_at[first[:2]]), find(leader, ring_at[second[:2]])
        leader[max(one, other)] = min(one, other)
    arrays: dict[int, list[Ring]] = defaultdict(list)
    for number, ring in enumerate(rings):
        arrays[find(leader, number)].append(ring)
    return [_array(members) for members in arrays.values()]


def _array(rings: list[Ring]) -> Rings:
    (outer,) = (ring for ring in rings if twice_area(ring) > 0)
    return Rings(outer, tuple(ring for ring in rings if twice_area(ring) < 0))


def find(leader: list[int], member: int) -> int:
    """Return the leader of a member's group, shortening the way for the next look."""
    while leader[member] != member:
        leader[member] = leader[leader[member]]
        member = leader[member]
    return member
