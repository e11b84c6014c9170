"""Places that a person should look at: narrow holes and slots, arrays that nearly touch.

Accuracy: exact between sides that are upright or level in the same axes; next to other sides a
width is that of the widest circle in the slot, to a hundredth of the hand gap.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator
from itertools import groupby

import numpy as np
import shapely

from gapwright.calc.outline.closing import (
    Numbers,
    Polygons,
    are_upright,
    mitered,
    polygons_of,
    rotated,
)
from gapwright.calc.outline.nearness import Indices, near_pairs
from gapwright.calc.outline.outline import connected, in_axes, note_at
from gapwright.calc.outline.shape import ROUNDING_NM, ArrayShape, Note, NoteKind, Outline
from gapwright.errors import Fault, InvalidRequestError

MOST_NEAR = 20_000
_SLIVER = 0.01
"""Slots are open over more than this part of the hand gap."""
_SAME_NM = 0.01

Span = tuple[float, float]
Finding = tuple[NoteKind, float, Numbers]
"""What was found, how wide it is [nm], and corners of its place on the roof plane."""


def narrow_notes(
    outline: Outline, min_access_gap_nm: int, min_array_gap_nm: int
) -> tuple[Note, ...]:
    """Return holes and slots narrower than the hand gap, and arrays nearer than the near gap.

    Arrays that touch at a corner, or touch themselves there, are noted whatever the gaps are.
    Errors: InvalidRequestError where more than MOST_NEAR pairs of arrays or of sides are near one
    another.
    """
    found = _find(outline.shapes, min_access_gap_nm, min_array_gap_nm)
    return tuple(sorted(note_at(kind, round(nm), at, outline.origin) for kind, nm, at in found))


def _find(shapes: tuple[ArrayShape, ...], hand_nm: int, near_nm: int) -> Iterator[Finding]:
    areas = np.array([in_axes(shape, 0.0) for shape in shapes])
    one, other = _few_pairs(areas, max(near_nm, hand_nm, ROUNDING_NM), "arrays")
    away = shapely.distance(areas[one], areas[other])
    near = (away <= ROUNDING_NM) | (away < near_nm)
    yield from _near(areas[one[near]], areas[other[near]], away[near])
    for degrees, polygon in shapes:
        yield from _touching_itself(degrees, polygon)

    by_axes: dict[float, list[shapely.Polygon]] = defaultdict(list)
    frames = np.full(len(shapes), np.nan)  # which is unlike itself: slanted sides
    upright = are_upright(np.array([shape.polygon for shape in shapes]))
    for at in np.flatnonzero(upright).tolist():
        by_axes[shapes[at].degrees].append(shapes[at].polygon)
        frames[at] = shapes[at].degrees
    mixed = (away < hand_nm) & (frames[one] != frames[other])
    for degrees, polygons in by_axes.items():
        for kind, width, place in _between_sides(np.array(polygons), hand_nm):
            yield kind, width, rotated(place, degrees)
    for group in connected(len(areas), one[mixed].tolist(), other[mixed].tolist()):
        if len(group) > 1 or np.isnan(frames[group[0]]):
            yield from _slanted(areas[group], frames[group], hand_nm)


def _few_pairs(shapes: Polygons, reach_nm: float, what: str) -> tuple[Indices, Indices]:
    """Return the later and the earlier of shapes near one another, if they are not too many."""
    later, earlier, all_found = near_pairs(shapes, reach_nm, MOST_NEAR)
    if not all_found:
        problem = f"Expected at most {MOST_NEAR} pairs of {what} near each other; got more."
        raise InvalidRequestError(
            [Fault(path=(), problem=problem, remedy="Split the job into several requests.")]
        )
    return later, earlier


def _near(one: Polygons, other: Polygons, away: Numbers) -> Iterator[Finding]:
    """Yield pairs that are near, each with the box around all places where it is nearest."""
    # of touching arrays it is what they share; others are nearest at a corner of one of them
    places = np.tile([[np.inf], [-np.inf]], (len(away), 1, 2))
    touching = away == 0
    shared = shapely.intersection(one[touching], other[touching])
    places[touching] = shapely.bounds(shared).reshape(-1, 2, 2)
    for first, second in ((one, other), (other, one)):
        points, pair = shapely.get_coordinates(first, return_index=True)
        nearest = shapely.dwithin(shapely.points(points), second[pair], away[pair] + _SAME_NM)
        pair, points = pair[nearest], shapely.points(points[nearest])
        # both ends of each shortest line: which of several comes first does not matter then
        ends = shapely.get_coordinates(shapely.shortest_line(points, second[pair]))
        for end in (ends[0::2], ends[1::2]):
            np.minimum.at(places[:, 0], pair, end)
            np.maximum.at(places[:, 1], pair, end)
    for place, width in zip(places, away.tolist(), strict=True):
        if width <= ROUNDING_NM:
            yield "touching_at_corner", 0, place
        else:
            yield "arrays_near", width, place


def _touching_itself(degrees: float, polygon: shapely.Polygon) -> Iterator[Finding]:
    if polygon.interiors:
        corners = [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(polygon)]
        places, times = np.unique(np.concatenate(corners), axis=0, return_counts=True)
        for place in places[times > 1]:
            yield "touching_at_corner", 0, rotated(place.reshape(1, 2), degrees)


def _between_sides(polygons: Polygons, hand_nm: int) -> Iterator[Finding]:
    """Yield the holes and slots narrower than `hand_nm` in and between upright polygons.

    A hole that is too narrow everywhere is one; otherwise each straight part of a slot is.
    """
    rings = shapely.get_rings(shapely.orient_polygons(polygons))
    inside: dict[int, list[tuple[float, Numbers]]] = defaultdict(list)
    for one, other, width, place in _facing_sides(rings, hand_nm):
        if one == other and not shapely.is_ccw(rings[one]):
            inside[one].append((width, place))
        else:
            yield "slot_too_narrow", width, place
    by = hand_nm / 2 - 0.25  # between a hole of just the hand gap and the next narrower one
    for ring, slots in inside.items():
        if mitered(shapely.Polygon(rings[ring]), -by).is_empty:
            place = np.array(rings[ring].bounds).reshape(2, 2)
            yield "hole_too_narrow", min(width for width, _ in slots), place
        else:
            yield from (("slot_too_narrow", width, place) for width, place in slots)


def _facing_sides(rings: Polygons, hand_nm: int) -> Iterator[tuple[int, int, float, Numbers]]:
    """Yield two rings, a width below `hand_nm`, and the place where sides of theirs face.

    Only open roof lies between them. Two sides give several places if others lie between them.
    """
    points, ring = shapely.get_coordinates(rings, return_index=True)
    side = np.flatnonzero(ring[1:] == ring[:-1])
    start, end, ring = points[side], points[side + 1], ring[side]
    for axis in (0, 1):  # upright sides, then level ones
        across = np.flatnonzero(start[:, axis] == end[:, axis])
        line, low, high = start[across, axis], start[across, 1 - axis], end[across, 1 - axis]
        # with the array on the left, open roof lies on the side of larger numbers
        ahead = (high > low) != bool(axis)
        low, high = np.minimum(low, high), np.maximum(low, high)
        later, earlier = _few_pairs(shapely.box(line, low, line, high), hand_nm, "sides")
        one, other = np.where(ahead[later], later, earlier), np.where(ahead[later], earlier, later)
        away = line[other] - line[one]
        long = np.minimum(high[one], high[other]) - np.maximum(low[one], low[other])
        facing = (ahead[one] & ~ahead[other]) & (away >= -ROUNDING_NM) & (away < hand_nm)
        facing &= long > _SLIVER * hand_nm
        pairs = np.column_stack([one, other])[facing]
        pairs = pairs[np.lexsort((away[facing], pairs[:, 0]))].tolist()
        for own, group in groupby(pairs, key=lambda pair: pair[0]):
            free = [(low[own], high[own])]
            for _, far in group:  # the nearest first: it hides what is behind it
                width = float(line[far] - line[own])
                for lower, upper in _take(free, low[far], high[far]):
                    if width <= ROUNDING_NM:
                        continue  # another array that touches: it hides, and leaves no gap
                    place = np.array([[line[own], lower], [line[far], upper]])
                    yield ring[across[own]], ring[across[far]], width, place[:, :: 1 - 2 * axis]


def _take(free: list[Span], low: float, high: float) -> list[Span]:
    """Return what of sorted free spans lies from low to high, and leave the rest in the list."""
    first = bisect_right(free, low, key=lambda span: span[1])
    end = bisect_left(free, high, key=lambda span: span[0])
    assumed = free[first:end]
    rest = [span for each in assumed for span in ((each[0], low), (high, each[1]))]
    free[first:end] = [span for span in rest if span[0] < span[1]]
    return [(max(low, start), min(high, stop)) for start, stop in assumed]


def _slanted(areas: Polygons, frames: Numbers, hand_nm: int) -> Iterator[Finding]:
    """Yield narrow holes and slots next to slanted sides: what a closing would fill.

    Without slivers along the sides, and slots between arrays of the same axes.
    """
    half = hand_nm / 2 - ROUNDING_NM
    whole = shapely.union_all(areas)
    filled = shapely.difference(mitered(mitered(whole, half), -half), whole)
    sliver = _SLIVER * half
    holes = [shapely.Polygon(ring) for area in areas for ring in area.interiors]
    for slot in polygons_of(mitered(mitered(filled, -sliver), sliver)):
        beside = frames[shapely.dwithin(areas, slot, 2 * sliver)]
        if len(beside) and (beside == beside[0]).all():
            continue
        is_hole = any(slot.intersection(hole).area > (1 - _SLIVER) * hole.area for hole in holes)
        circle = shapely.maximum_inscribed_circle(slot, tolerance=sliver)
        kind: NoteKind = "hole_too_narrow" if is_hole else "slot_too_narrow"
        yield kind, 2 * circle.length, shapely.get_coordinates(slot)
