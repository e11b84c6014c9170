"""Arrays with slanted edges of several directions: mitre closing in floats, snapped to whole nm.

Accuracy: gaps between parallel edges are compared with the join gap to within 2 * SEAM_NM;
corners of the result lie within 2 * SEAM_NM of their true place, corners of the input exactly on
theirs. Steps in an edge below a hundredth of half the join gap beside a closed gap may be
levelled in that gap's mouth.
Limits: a wedge-shaped gap closes from its tip to a little short of where it is as wide as the
join gap; where only a corner comes that near to a side, the two may stay apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import shapely

from service.calc.outline.check import Shape
from service.calc.outline.edges import Ring
from service.calc.outline.loops import Rings, find, twice_area
from service.calc.outline.overlap import solid
from service.calc.outline.rings import Place

SEAM_NM = 3
WHOLE_NM = 1
"""The grid of unions: without one, a union may lose a whole polygon beside a hair of another."""
SQUARE_LIMIT = 1.5
SHARP_LIMIT = 2.0
_ANY_CORNER = 1000.0


def slanted_groups(
    shapes: Sequence[Shape], join_nm: int, origin: Place
) -> tuple[list[Shape], list[list[Shape]]]:
    """Return the shapes from which no chain of gaps up to `join_nm` leads to a slanted edge.

    And the others, group by group: those that such chains join.
    """
    polygons = [solid(shape, origin) for shape in shapes]
    tree = shapely.STRtree(polygons)
    leader = list(range(len(shapes)))
    reach = join_nm + 2 * SEAM_NM
    for one, other in tree.query(polygons, predicate="dwithin", distance=reach).T.tolist():
        first, second = find(leader, one), find(leader, other)
        leader[max(first, second)] = min(first, second)
    groups: dict[int, list[Shape]] = defaultdict(list)
    for at, shape in enumerate(shapes):
        groups[find(leader, at)].append(shape)
    square = {first for first, group in groups.items() if all(shape.square for shape in group)}
    straight = [shape for at, shape in enumerate(shapes) if find(leader, at) in square]
    return straight, [group for first, group in groups.items() if first not in square]


def turned_rings(shapes: Sequence[Shape], join_nm: int, origin: Place) -> list[Rings]:
    """Return the arrays that the shapes form, with gaps up to `join_nm` between them closed."""
    polygons = [solid(shape, origin) for shape in sorted(shapes, key=lambda each: each.outline)]
    fills = gap_fills(polygons, join_nm / 2 + SEAM_NM, SQUARE_LIMIT, least_sides=2)
    whole = _joined([*polygons, *fills])
    sealed = mitred(mitred(whole, SEAM_NM, _ANY_CORNER), -SEAM_NM, _ANY_CORNER)
    on_grid = shapely.set_precision(sealed, WHOLE_NM)
    found = [_rings(part, origin) for part in parts(on_grid)]
    return [rings for rings in found if rings.outer]


def gap_fills(
    polygons: Sequence[shapely.Polygon], half_nm: float, limit: float, least_sides: int
) -> list[shapely.Polygon]:
    """Return what a mitre closing by `half_nm` adds to the polygons.

    Only pieces that touch at least `least_sides` of the polygons, and no slivers. A wedge is
    closed from its tip outwards, to `limit` * `half_nm` short of where it is as wide as that.
    """
    tree = shapely.STRtree(polygons)
    grown = shapely.union_all(
        [mitred(polygon, half_nm, limit) for polygon in polygons], grid_size=WHOLE_NM
    )
    added = shapely.difference(
        mitred(grown, -half_nm, limit), _joined(polygons), grid_size=WHOLE_NM
    )
    return [
        piece
        for piece in parts(added)
        if len(tree.query(piece, predicate="dwithin", distance=SEAM_NM)) >= least_sides
        and not mitred(piece, -SEAM_NM / 2).is_empty
    ]


def _joined(polygons: Sequence[shapely.Polygon]) -> shapely.Geometry:
    """Return the union of polygons that do not overlap; on the grid unless all of it is there."""
    quick = shapely.union_all(polygons)
    hair = SEAM_NM * float(shapely.length(polygons).sum())
    if abs(quick.area - float(shapely.area(polygons).sum())) <= hair:
        return quick
    return shapely.union_all(polygons, grid_size=WHOLE_NM)


def mitred(area: shapely.Geometry, by_nm: float, limit: float = SHARP_LIMIT) -> shapely.Geometry:
    """Return the area grown by `by_nm` on all sides with sharp corners (shrunk if negative).

    A corner that would reach more than `limit` * `by_nm` is cut off there: SQUARE_LIMIT keeps
    corners sharp from a right angle up, SHARP_LIMIT from 60 degrees up.
    """
    return shapely.buffer(area, by_nm, join_style="mitre", mitre_limit=limit)


def parts(area: shapely.Geometry) -> list[shapely.Polygon]:
    """Return the polygons of an area."""
    return [
        part
        for part in shapely.get_parts(area)
        if part.geom_type == "Polygon" and not part.is_empty
    ]


def _rings(part: shapely.Polygon, origin: Place) -> Rings:
    outer = _tidy(part.exterior, origin, 1)
    holes = (_tidy(hole, origin, -1) for hole in part.interiors)
    return Rings(outer, tuple(hole for hole in holes if hole))


def _tidy(line: shapely.LinearRing, origin: Place, sign: int) -> Ring:
    """Return whole nanometres without corners that only rounding made, running as asked."""
    x, y = origin
    ring = tidied(tuple((round(u) + x, round(v) + y) for u, v in line.coords[:-1]))
    return ring if twice_area(ring) * sign > 0 else ring[::-1]


def tidied(ring: Ring) -> Ring:
    """Return a ring without corners at which the way runs straight on, to within SEAM_NM."""
    count = 0
    while ring and count != len(ring):
        count = len(ring)
        ring = _straightened(ring)
    return ring


def _straightened(ring: Ring) -> Ring:
    kept: list[Place] = []
    for index, here in enumerate(ring):
        before = kept[-1] if kept else ring[-1]
        # a corner that is gone already says nothing: two at one place would each give way
        after = ring[index + 1] if index + 1 < len(ring) else (kept or ring)[0]
        if not _is_between(before, here, after):
            kept.append(here)
    return tuple(kept)


def _is_between(before: Place, here: Place, after: Place) -> bool:
    """Return whether the way runs on straight at `here`, to within SEAM_NM."""
    along_x, along_y = after[0] - before[0], after[1] - before[1]
    aside = along_x * (here[1] - before[1]) - along_y * (here[0] - before[0])
    return aside * aside <= SEAM_NM**2 * (along_x**2 + along_y**2)
