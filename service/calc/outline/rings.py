"""Rings as drawn: what makes one usable, and how it runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import shapely

from service.calc.outline.edges import Ring
from service.calc.outline.loops import twice_area
from service.errors import Fault

Path = tuple[str | int, ...]
Place = tuple[int, int]


def open_ring(ring: Iterable[Place]) -> Ring:
    """Return the ring without points that repeat the one before, nor the first at the end."""
    kept: list[Place] = []
    for x, y in ring:
        if not kept or kept[-1] != (x, y):
            kept.append((x, y))
    while len(kept) > 1 and kept[0] == kept[-1]:
        kept.pop()
    return tuple(kept)


def ring_problem(ring: Ring) -> str:
    """Return what makes a ring useless, or nothing."""
    if len(set(ring)) < 3:
        return "It has fewer than 3 different points."
    (x, y), (next_x, next_y) = ring[:2]
    if all((u - x) * (next_y - y) == (v - y) * (next_x - x) for u, v in ring):
        return "Its points lie on one line."
    if not polygon_of(ring, ring[0]).is_valid:
        return "It crosses or touches itself."
    return ""


def hole_faults(path: Path, rings: Sequence[Ring]) -> Iterator[Fault]:
    """Yield a fault for every hole outside its shell and every hole that overlaps another.

    `rings` are the shell and its holes. A hole may touch the shell or another hole.
    """
    shell, *holes = (polygon_of(ring, rings[0][0]) for ring in rings)
    if holes and shapely.difference(shell, shapely.union_all(holes)).is_empty:
        yield Fault(path=path, problem="Its holes leave nothing of it.", remedy="Leave it out.")
    for index, hole in enumerate(holes):
        place = (*path, "holes", index)
        if not shell.covers(hole):
            yield Fault(path=place, problem="It lies outside the shell.", remedy="Draw it inside.")
        for other in range(index):
            if hole.relate_pattern(holes[other], "T********"):
                yield Fault(
                    path=place,
                    problem=f"It overlaps hole {other} of the same shape.",
                    remedy="Draw the two as one.",
                )


def running(ring: Ring, sign: int) -> Ring:
    """Return the ring anticlockwise for a positive sign, clockwise for a negative one."""
    return ring if twice_area(ring) * sign > 0 else ring[::-1]


def is_square(rings: Iterable[Ring]) -> bool:
    """Return whether every edge is upright or level."""
    return all(
        x == next_x or y == next_y
        for ring in rings
        for (x, y), (next_x, next_y) in zip(ring, ring[1:] + ring[:1], strict=True)
    )


def polygon_of(ring: Ring, origin: Place, holes: Iterable[Ring] = ()) -> shapely.Polygon:
    """Return a ring as a polygon measured from `origin`, so that its numbers stay exact."""
    x, y = origin
    return shapely.Polygon(
        [(u - x, v - y) for u, v in ring],
        [[(u - x, v - y) for u, v in hole] for hole in holes],
    )


def is_thicker(ring: Ring, least_nm: int) -> bool:
    """Return whether the ring is wider than `least_nm` somewhere."""
    return not shapely.buffer(polygon_of(ring, ring[0]), -least_nm / 2).is_empty
