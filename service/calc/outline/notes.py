"""Places that a person should look at: narrow holes and slots, arrays that nearly touch.

Accuracy: exact between edges that are upright or level in the same axes; beside other edges a
width is that of the widest circle in the slot, to a hundredth of the hand gap.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import shapely

from service.calc.outline.axes import Axes, Numbers, Polygons, are_upright, connected, polygons_of
from service.calc.outline.closing import mitered
from service.calc.outline.loops import ArrayShape
from service.calc.outline.shape import ROUNDING_NM, GapRules, NoteKind
from service.calc.outline.slots import find_slots
from service.errors import BadInputError, Fault

MOST_NEAR = 10_000
_SLIVER = 0.01
_SAME_NM = 0.01


class Finding(NamedTuple):
    """What was found, how wide it is [nm], and corners of its place on the roof plane."""

    kind: NoteKind
    width_nm: int
    place: Numbers


def find_narrow(
    shapes: Sequence[ArrayShape], areas: Polygons, rules: GapRules
) -> Iterator[Finding]:
    """Yield what is too narrow or too near; `areas` are the shapes on the roof plane.

    Errors: BadInputError where more than MOST_NEAR pairs of arrays are near one another.
    """
    reach = max(rules.near_gap_nm, rules.hand_gap_nm, ROUNDING_NM)
    one, other = shapely.STRtree(areas).query(areas, predicate="dwithin", distance=reach)
    one, other = one[one < other], other[one < other]
    if len(one) > MOST_NEAR:
        problem = f"Expected at most {MOST_NEAR} pairs of arrays near one another; got {len(one)}."
        raise BadInputError([Fault(path=(), problem=problem, remedy="Lay out fewer at once.")])
    away = shapely.distance(areas[one], areas[other])
    near = (away <= ROUNDING_NM) | (away < rules.near_gap_nm)
    yield from _near(areas[one[near]], areas[other[near]], away[near])
    for axes, polygon in shapes:
        yield from _touching_itself(axes, polygon)

    by_axes: dict[Axes, list[shapely.Polygon]] = defaultdict(list)
    frames = np.full(len(shapes), np.nan)  # which is unlike itself: slanted edges
    upright = are_upright(np.array([shape.polygon for shape in shapes]))
    for at, (axes, polygon) in enumerate(shapes):
        if upright[at]:
            by_axes[axes].append(polygon)
            frames[at] = axes.degrees
    for axes, polygons in by_axes.items():
        for hole, width, place in find_slots(
            np.array(polygons), rules.hand_gap_nm, rules.alignment_nm
        ):
            kind: NoteKind = "hole_too_narrow" if hole else "slot_too_narrow"
            yield Finding(kind, width, axes.to_roof(place))
    mixed = (away < rules.hand_gap_nm) & (frames[one] != frames[other])
    for group in connected(len(areas), one[mixed].tolist(), other[mixed].tolist()):
        if len(group) > 1 or np.isnan(frames[group[0]]):
            yield from _slanted(areas[group], frames[group], rules.hand_gap_nm)


def _near(one: Polygons, other: Polygons, away: Numbers) -> Iterator[Finding]:
    """Yield pairs that are near, each with the box round all places where it is nearest."""
    places = shapely.bounds(shapely.shortest_line(one, other)).reshape(-1, 2, 2)
    for first, second in ((one, other), (other, one)):
        points, pair = shapely.get_coordinates(first, return_index=True)
        reach = away[pair] + _SAME_NM
        nearest = shapely.dwithin(shapely.points(points), second[pair], reach)
        np.minimum.at(places[:, 0], pair[nearest], points[nearest])
        np.maximum.at(places[:, 1], pair[nearest], points[nearest])
    for place, width in zip(places, away.tolist(), strict=True):
        if width <= ROUNDING_NM:
            yield Finding("touching_at_corner", 0, place)
        else:
            yield Finding("arrays_near", round(width), place)


def _touching_itself(axes: Axes, polygon: shapely.Polygon) -> Iterator[Finding]:
    if polygon.interiors:
        corners = [ring.coords[:-1] for ring in shapely.get_rings(polygon)]
        places, times = np.unique(np.concatenate(corners), axis=0, return_counts=True)
        for place in places[times > 1]:
            yield Finding("touching_at_corner", 0, axes.to_roof(place.reshape(1, 2)))


def _slanted(areas: Polygons, frames: Numbers, hand_nm: int) -> Iterator[Finding]:
    """Yield narrow holes and slots beside slanted edges: what a closing would fill.

    Without slivers along the edges, and slots between arrays of the same axes.
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
        yield Finding(kind, round(2 * circle.length), shapely.get_coordinates(slot))
