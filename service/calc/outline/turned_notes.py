"""Places a person should look at beside slanted edges; widths in floats, rounded.

Accuracy: widths to a hundredth of the hand gap; a width within that of a limit may fall on
either side of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from itertools import pairwise

import shapely

from service.calc.outline.edges import Rect
from service.calc.outline.near import touching_notes
from service.calc.outline.notes import ring_of
from service.calc.outline.overlap import box_of
from service.calc.outline.rings import Place, polygon_of
from service.calc.outline.shape import ArrayOutline, GapRules, Note
from service.calc.outline.turned import SEAM_NM, SHARP_LIMIT, gap_fills, mitred, parts

_SLIVER = 0.01


def turned_notes(
    arrays: Sequence[ArrayOutline], turned: AbstractSet[int], origin: Place, rules: GapRules
) -> Iterator[Note]:
    """Yield the notes that concern at least one of the arrays numbered in `turned`.

    `arrays` are all arrays in their order. A slot gives one note; its width is that of the
    largest circle that lies in it, its length the longer side of the box round it.
    """
    areas = [_area(array, origin) for array in arrays]
    for index in sorted(turned):
        yield from touching_notes(arrays[index : index + 1])
    tight = [note for index in sorted(turned) for note in _holes(arrays[index], origin, rules)]
    yield from tight
    yield from _slots(areas, turned, origin, rules, tight)
    yield from _near(areas, turned, origin, rules.near_gap_nm)


def _area(array: ArrayOutline, origin: Place) -> shapely.Polygon:
    return polygon_of(ring_of(array.outer), origin, map(ring_of, array.holes))


def _holes(array: ArrayOutline, origin: Place, rules: GapRules) -> Iterator[Note]:
    for index, hole in enumerate(array.holes):
        area = polygon_of(ring_of(hole), origin)
        if mitred(area, SEAM_NM - rules.hand_gap_nm / 2).is_empty:
            yield Note(
                kind="hole_too_narrow",
                place=box_of(_bounds(area, origin)),
                width_nm=_width_nm(area, rules),
                arrays=(array.index,),
                hole=index,
            )


def _slots(
    areas: Sequence[shapely.Polygon],
    turned: AbstractSet[int],
    origin: Place,
    rules: GapRules,
    tight: Sequence[Note],
) -> Iterator[Note]:
    holes = [note.place for note in tight]
    tree = shapely.STRtree(areas)
    for slot in _tight_parts(areas, rules.hand_gap_nm / 2 - SEAM_NM):
        beside = tree.query(slot, predicate="dwithin", distance=_SLIVER * rules.hand_gap_nm)
        arrays = tuple(sorted(beside.tolist()))
        place = box_of(_bounds(slot, origin))
        if turned & set(arrays) and place not in holes:
            yield Note(
                kind="slot_too_narrow",
                place=place,
                width_nm=_width_nm(slot, rules),
                length_nm=_length_nm(slot),
                arrays=arrays,
            )


def _tight_parts(areas: Sequence[shapely.Polygon], half_nm: float) -> Iterator[shapely.Polygon]:
    """Yield what a closing by `half_nm` would fill, without slivers along the edges."""
    if half_nm <= 0:
        return
    sliver_nm = half_nm * _SLIVER
    for fill in gap_fills(areas, half_nm, SHARP_LIMIT, least_sides=1):
        yield from parts(mitred(mitred(fill, -sliver_nm), sliver_nm))


def _near(
    areas: Sequence[shapely.Polygon], turned: AbstractSet[int], origin: Place, near_gap_nm: int
) -> Iterator[Note]:
    tree = shapely.STRtree(areas)
    for first in sorted(turned):
        reach = max(near_gap_nm, SEAM_NM)
        for second in tree.query(areas[first], predicate="dwithin", distance=reach).tolist():
            if second == first or (second in turned and second < first):
                continue
            way = shapely.shortest_line(areas[first], areas[second])
            touching = way.length <= SEAM_NM
            if touching or way.length < near_gap_nm:
                yield Note(
                    kind="touching_at_corner" if touching else "arrays_near",
                    place=box_of(_bounds(way, origin)),
                    width_nm=0 if touching else round(way.length),
                    arrays=tuple(sorted((first, second))),
                )


def _width_nm(area: shapely.Polygon, rules: GapRules) -> int:
    close = _SLIVER * rules.hand_gap_nm / 2
    across: float = 2 * shapely.maximum_inscribed_circle(area, tolerance=close).length
    return round(across)


def _length_nm(area: shapely.Polygon) -> int:
    corners = shapely.minimum_rotated_rectangle(area).exterior.coords
    longest: float = max(shapely.LineString(side).length for side in pairwise(corners))
    return round(longest)


def _bounds(area: shapely.Geometry, origin: Place) -> Rect:
    x, y = origin
    left, lower, right, upper = (round(each) for each in area.bounds)
    return left + x, lower + y, right + x, upper + y
