"""Corners that only rounding made: rings without what a tape cannot tell from a straight way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from itertools import pairwise

import shapely

from service.calc.outline.check import Shape
from service.calc.outline.edges import Ring
from service.calc.outline.loops import Rings
from service.calc.outline.rings import Place, polygon_of


def level_rings(arrays: Sequence[Rings], shapes: Sequence[Shape], by_nm: int) -> list[Rings]:
    """Return arrays with their rings `levelled`; corners of drawn shapes stay.

    An array stays as it is where its rings would then meet one another.
    """
    kept = {place for shape in shapes if shape.drawn for ring in shape.rings for place in ring}
    return [_array(rings, by_nm, kept) for rings in arrays]


def _array(rings: Rings, by_nm: int, kept: AbstractSet[Place]) -> Rings:
    holes = tuple(levelled(hole, by_nm, kept) for hole in rings.holes)
    level = Rings(levelled(rings.outer, by_nm, kept), holes)
    return level if polygon_of(level.outer, level.outer[0], level.holes).is_valid else rings


def levelled(ring: Ring, by_nm: int, kept: AbstractSet[Place] = frozenset()) -> Ring:
    """Return the ring without corners that lie within `by_nm` of the straight way past them.

    No corner moves: of a row of modules a hair out of line the outermost corners are left, and
    what was between them lies within `by_nm` of the edge. Corners in `kept` stay, and so does one
    at which the ring touches itself.
    """
    if by_nm <= 0 or len(ring) <= 3:
        return ring
    kept = kept | {place for place, times in Counter(ring).items() if times > 1}
    fixed = {at for at, place in enumerate(ring) if place in kept}
    left = _standing_out(ring, sorted(fixed | _far_apart(ring)), by_nm)
    count = 0
    while count != len(left):
        count = len(left)
        left = _without_straight(ring, left, fixed, by_nm)
    return tuple(ring[at] for at in left) if len(left) > 2 else ring


def _standing_out(ring: Ring, ends: Sequence[int], by_nm: int) -> list[int]:
    """Return `ends`, and of the ways between them corners enough to keep within `by_nm`."""
    around = ring + ring[: ends[0] + 1]
    left: list[int] = []
    for start, end in pairwise([*ends, ends[0] + len(ring)]):
        way = around[start : end + 1]
        plain = shapely.simplify(shapely.LineString(way), by_nm, preserve_topology=False)
        numbers = {place: at for at, place in enumerate(way[:-1], start)}
        left += [numbers[round(x), round(y)] % len(ring) for x, y in plain.coords[:-1]]
    return sorted(left)


def _without_straight(
    ring: Ring, left: Sequence[int], fixed: AbstractSet[int], by_nm: int
) -> list[int]:
    """Return the corners left without those at which the way runs straight on after all.

    It was taken apart somewhere, and at the farthest corner of what lies along it: at any place
    of an edge, where a hair decides.
    """
    found: list[int] = []
    for number, at in enumerate(left):
        before = found[-1] if found else left[-1] - len(ring)
        after = left[number + 1] if number + 1 < len(left) else (found or left)[0] + len(ring)
        passed = (ring[each % len(ring)] for each in range(before + 1, after))
        ends = ring[before % len(ring)], ring[after % len(ring)]
        if at in fixed or not all(_beside(place, *ends, by_nm) for place in passed):
            found.append(at)
    return found


def _beside(place: Place, start: Place, end: Place, by_nm: int) -> bool:
    """Return whether a place lies within `by_nm` of the straight way from one to another."""
    x, y = end[0] - start[0], end[1] - start[1]
    u, v = place[0] - start[0], place[1] - start[1]
    along, length = x * u + y * v, x * x + y * y
    if not 0 <= along <= length:
        u, v = min((u, v), (u - x, v - y), key=lambda each: each[0] ** 2 + each[1] ** 2)
        return u * u + v * v <= by_nm * by_nm
    return (x * v - y * u) ** 2 <= by_nm * by_nm * length


def _far_apart(ring: Ring) -> set[int]:
    """Return the corner farthest from the middle of all, and the one farthest from that."""
    middle = (sum(x for x, _ in ring) // len(ring), sum(y for _, y in ring) // len(ring))
    first = _farthest(ring, middle)
    return {first, _farthest(ring, ring[first])}


def _farthest(ring: Ring, of: Place) -> int:
    away = [(x - of[0]) ** 2 + (y - of[1]) ** 2 for x, y in ring]
    return away.index(max(away))
