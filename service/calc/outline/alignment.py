"""Steps in an edge that only rounded coordinates made: the edge goes straight on past them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely

from service.calc.outline.axes import Polygons, tidied
from service.calc.outline.shape import ROUNDING_NM

Place = tuple[float, float]
Step = tuple[int, list[Place]]
"""How far edges were out of line [nm], and their ends."""


def align(polygons: Polygons, tolerance_nm: int) -> tuple[Polygons, list[Step]]:
    """Return upright polygons with straight edges in place of small steps, and the steps.

    Edges in one direction with steps of up to `tolerance_nm` between them are put in line with
    the outermost, if all lie that near to it; otherwise they are first parted at their largest
    steps. Neither order nor direction matters. A polygon that would then meet itself stays as
    it is.
    """
    steps: list[Step] = []
    aligned = polygons.copy()
    for at in np.flatnonzero(shapely.get_num_coordinates(polygons) > 5):
        polygon = shapely.orient_polygons(polygons[at])
        own: list[Step] = []
        rings = [
            _aligned_ring(ring.coords[:-1], tolerance_nm, own)
            for ring in (polygon.exterior, *polygon.interiors)
        ]
        straight = shapely.Polygon(rings[0], rings[1:])
        if own and straight.is_valid:
            aligned[at] = straight
            steps += own
    return tidied(aligned), steps


def _aligned_ring(ring: Sequence[Place], tolerance_nm: int, steps: list[Step]) -> list[Place]:
    """Return a ring with its edges in line, its material on the left; steps are added."""
    count = len(ring)
    level = [ring[at][1] == ring[(at + 1) % count][1] for at in range(count)]
    lines = [ring[at][level[at]] for at in range(count)]
    ahead = [ring[(at + 1) % count][not level[at]] > ring[at][not level[at]] for at in range(count)]
    outward = [1 if ahead[at] != level[at] else -1 for at in range(count)]
    moved = list(lines)
    for chain in _chains(lines, outward, tolerance_nm):
        for cluster in _clusters(sorted({lines[at] for at in chain}), tolerance_nm):
            members = [at for at in chain if cluster[0] <= lines[at] <= cluster[-1]]
            if len(cluster) > 1:
                ends = [ring[end % count] for at in members for end in (at, at + 1)]
                steps.append((round(cluster[-1] - cluster[0]), ends))
            for at in members:
                moved[at] = cluster[-1] if outward[at] > 0 else cluster[0]
    return [
        (moved[at - 1], moved[at]) if level[at] else (moved[at], moved[at - 1])
        for at in range(count)
    ]


def _chains(
    lines: Sequence[float], outward: Sequence[int], tolerance_nm: int
) -> Iterator[list[int]]:
    """Yield the edges of a ring, each second one, from one large step or turn to the next."""
    for first in (0, 1):
        edges = range(first, len(lines), 2)
        breaks = [
            number
            for number, at in enumerate(edges)
            if outward[at] != outward[at - 2] or abs(lines[at] - lines[at - 2]) > tolerance_nm
        ]
        around = [*edges, *edges]
        for start, end in pairwise([*breaks, breaks[0] + len(edges)]):
            yield around[start:end]


def _clusters(lines: Sequence[float], tolerance_nm: int) -> Iterator[Sequence[float]]:
    """Yield sorted lines in groups no wider than the tolerance, parted at the largest gaps."""
    if lines[-1] - lines[0] <= tolerance_nm:
        yield lines
        return
    gaps = np.diff(lines)
    largest = gaps >= gaps.max() - ROUNDING_NM
    ends = [0, *(np.flatnonzero(largest) + 1).tolist(), len(lines)]
    for start, end in pairwise(ends):
        yield from _clusters(lines[start:end], tolerance_nm)
