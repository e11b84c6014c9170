"""Closing the gaps between shapes: grow by half the join gap, unite, shrink again.

Where all edges are upright or level, growing and shrinking are done with boxes along the edges,
which is exact; only slanted edges go through a mitered buffer. Of two modules whose gap is narrow
enough, those that face each other over more than the alignment tolerance are joined; those that
are diagonal, or meet only at a corner, stay apart.

Accuracy beside slanted edges: 3 nm; a gap there is compared with the join gap to within 1 nm.
Limits: beside a module narrower than the join gap, a third module may fill an inside corner. A
wedge between two directions closes from its tip to a little short of where it is as
wide as the join gap.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from service.calc.outline.axes import Numbers, Polygons, are_upright, polygons_of, tidied
from service.calc.outline.shape import ROUNDING_NM

RIGHT_ANGLES, SHARP_ANGLES = 1.5, 2.0
"""Limits of a miter: corners stay sharp from 90 and from 60 degrees up."""
_NOTHING_INSIDE = 1.0
_WHOLE_NM = 1
"""The grid of unions: without one, a union may lose a polygon beside a sliver of another."""


def grown(area: shapely.Geometry, across: float, up: float) -> shapely.Geometry:
    """Return an upright area grown by so much sideways and up and down, shrunk if negative."""
    lines = shapely.get_parts(shapely.boundary(tidied(polygons_of(area))))
    points, line = shapely.get_coordinates(lines, return_index=True)
    edge = line[1:] == line[:-1]
    start, end = points[:-1][edge], points[1:][edge]
    margin = np.abs([across, up])
    low, high = np.minimum(start, end) - margin, np.maximum(start, end) + margin
    solid = (low < high).all(axis=1)
    walls = shapely.disjoint_subset_union_all(shapely.box(*low[solid].T, *high[solid].T))
    return (shapely.union if max(across, up) > 0 else shapely.difference)(area, walls)


def mitered(area: shapely.Geometry, by: float, limit: float = SHARP_ANGLES) -> shapely.Geometry:
    """Return any area grown by so much on all sides, shrunk if negative."""
    return shapely.buffer(area, by, join_style="mitre", mitre_limit=limit)


def snapped(boxes: Numbers, by_nm: int) -> Numbers:
    """Return boxes with sides at most `by_nm` from the next one all on one line."""
    found = boxes.copy()
    for axis in (0, 1):
        sides, number = np.unique(boxes[:, [axis, axis + 2]], return_inverse=True)
        first = np.diff(sides, prepend=-np.inf) > by_nm
        lines = sides[first][np.cumsum(first) - 1]
        found[:, [axis, axis + 2]] = lines[number].reshape(-1, 2)
    return found


def close_modules(boxes: Numbers, join_nm: int, alignment_nm: int) -> Polygons:
    """Return the arrays that modules form in their own axes.

    What is left after growing, uniting and shrinking is shrunk and grown once more by half the
    tolerance, which parts what only a sliver joins.
    """
    half = join_nm / 2
    left, lower, right, upper = snapped(boxes, min(alignment_nm, ROUNDING_NM)).T
    area = shapely.union_all(shapely.box(left - half, lower - half, right + half, upper + half))
    parts = tidied(polygons_of(area))
    plain = shapely.get_num_coordinates(parts) == 5
    left, lower, right, upper = shapely.bounds(parts[plain]).T
    found = [shapely.box(left + half, lower + half, right - half, upper - half)]
    if not plain.all():
        sliver = alignment_nm / 2
        shrunk = grown(shapely.multipolygons(parts[~plain]), -half - sliver, -half - sliver)
        for part in polygons_of(shrunk):
            found.append(polygons_of(grown(part, sliver, sliver)))
    return tidied(np.concatenate(found))


def close_mixed(shapes: Polygons, drawn: npt.NDArray[np.bool_], join_nm: int) -> Polygons:
    """Return what arrays of several axes and drawn shapes form, all in the same axes.

    The slots of a drawn shape stay open, unless something else lies in them.
    """
    order = np.argsort(shapely.to_wkb(shapely.normalize(shapes)))  # results must not depend on it
    shapes, drawn = shapes[order], drawn[order]
    upright = bool(are_upright(shapes).all())
    rounding_nm = 0 if upright else ROUNDING_NM
    if len(shapes) == 1:
        return tidied(polygons_of(shapes[0]), rounding_nm)
    half = join_nm / 2 + rounding_nm
    whole = shapely.union_all(shapes, grid_size=_WHOLE_NM)
    swollen = shapely.union_all([_grown(shape, half, upright) for shape in shapes])
    closed = _grown(swollen, -half, upright)
    slots = []
    for shape in shapes[drawn]:
        own = _grown(_grown(shape, half, upright), -half, upright)
        pieces = polygons_of(shapely.difference(own, shape))
        free = shapely.area(shapely.intersection(pieces, whole)) < _NOTHING_INSIDE
        slots += pieces[free].tolist()
    fills = shapely.difference(closed, shapely.union_all(slots), grid_size=_WHOLE_NM)
    joined = shapely.union_all([*shapes, *polygons_of(fills)], grid_size=_WHOLE_NM)
    return tidied(polygons_of(joined), rounding_nm)


def _grown(area: shapely.Geometry, by: float, upright: bool) -> shapely.Geometry:
    return grown(area, by, by) if upright else mitered(area, by, RIGHT_ANGLES)
