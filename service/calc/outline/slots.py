"""Open roof between two edges that face each other too near for a hand: exact widths."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

import numpy as np
import shapely

from service.calc.outline.axes import Numbers, Polygons
from service.calc.outline.closing import grown

Found = tuple[bool, int, Numbers]
"""Whether it is a whole hole, its width [nm], and two corners of its place."""


class Slot(NamedTuple):
    """A straight part of a slot between two edges, each of a ring; the rings are numbered."""

    rings: tuple[int, int]
    width_nm: int
    place: Numbers


def find_slots(polygons: Polygons, hand_nm: int, alignment_nm: int) -> Iterator[Found]:
    """Yield the slots narrower than `hand_nm` in and between upright polygons.

    Their sides face each other over more than `alignment_nm`.

    A hole that is too narrow everywhere is one; otherwise each straight part of a slot is.
    """
    rings = shapely.get_rings(shapely.orient_polygons(polygons))
    inside: dict[int, list[Slot]] = {}
    for slot in _slots(rings, hand_nm - 1, alignment_nm):
        one, other = slot.rings
        if one == other and not shapely.is_ccw(rings[one]):
            inside.setdefault(one, []).append(slot)
        else:
            yield False, slot.width_nm, slot.place
    by = (hand_nm - 1) / 2
    for ring, slots in inside.items():
        hole = shapely.Polygon(rings[ring])
        if grown(hole, -by, -by).is_empty:
            place = np.array(hole.bounds).reshape(2, 2)
            yield True, min(slot.width_nm for slot in slots), place
        else:
            yield from ((False, slot.width_nm, slot.place) for slot in slots)


def _slots(rings: Polygons, most_nm: int, alignment_nm: int) -> Iterator[Slot]:
    """Yield where an edge faces another across open roof, at most `most_nm` apart."""
    points, ring = shapely.get_coordinates(rings, return_index=True)
    edge = np.flatnonzero(ring[1:] == ring[:-1])
    start, end, ring = points[edge], points[edge + 1], ring[edge]
    for axis in (0, 1):  # upright edges, then level ones
        across = start[:, axis] == end[:, axis]
        line, low, high = start[:, axis], start[:, 1 - axis], end[:, 1 - axis]
        ahead = (high > low) != bool(axis)  # open roof lies on the side of larger numbers
        low, high = np.minimum(low, high), np.maximum(low, high)
        first, second = np.flatnonzero(across & ahead), np.flatnonzero(across & ~ahead)
        tree = shapely.STRtree(shapely.box(line[second], low[second], line[second], high[second]))
        near = shapely.box(line[first], low[first], line[first] + most_nm, high[first])
        one, other = tree.query(near)
        one, other = first[one], second[other]
        long = np.minimum(high[one], high[other]) - np.maximum(low[one], low[other])
        facing = (line[other] > line[one]) & (long > alignment_nm)
        pairs = np.column_stack([one, other])[facing]
        pairs = pairs[np.lexsort((line[pairs[:, 1]], pairs[:, 0]))].tolist()
        for own, group in groupby(pairs, key=lambda pair: pair[0]):
            free = [(low[own], high[own])]
            for _, far in group:  # the nearest first: it hides what is behind it
                for lower, upper in _common(free, (low[far], high[far])):
                    place = np.array([[line[own], lower], [line[far], upper]])
                    yield Slot(
                        (int(ring[own]), int(ring[far])),
                        round(line[far] - line[own]),
                        place[:, ::-1] if axis else place,
                    )
                free = _rest(free, (low[far], high[far]))


def _common(
    spans: list[tuple[float, float]], span: tuple[float, float]
) -> Iterator[tuple[float, float]]:
    for low, high in spans:
        if max(low, span[0]) < min(high, span[1]):
            yield max(low, span[0]), min(high, span[1])


def _rest(spans: list[tuple[float, float]], span: tuple[float, float]) -> list[tuple[float, float]]:
    cut = [
        each
        for low, high in spans
        for each in ((low, min(high, span[0])), (max(low, span[1]), high))
    ]
    return [each for each in cut if each[0] < each[1]]
