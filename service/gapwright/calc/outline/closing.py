"""Closing the gaps between shapes: grow by half the join gap, unite, shrink again.

Accuracy: exact for modules in axes turned with them; elsewhere 3 nm.
Limits: next to a module narrower than the join gap, a third module may fill an inside corner. A
wedge between two directions closes from its tip to a little short of where it is as wide as the
join gap.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from gapwright.calc.outline.shape import ROUNDING_NM

Numbers = npt.NDArray[np.float64]
Polygons = npt.NDArray[np.object_]

RIGHT_ANGLES, SHARP_ANGLES = 1.5, 2.0
"""Limits of a miter: corners stay sharp from 90 and from 60 degrees up."""
_NOTHING_INSIDE = 1.0
_WHOLE_NM = 1
"""The grid of unions: without one, a union may lose a polygon next to a sliver of another."""


def rotated(points: Numbers, degrees: float | Numbers) -> Numbers:
    """Return points rotated counterclockwise about the origin, in whole nanometers.

    Each is rotated by its own angle or all by one. Not rotated, they stay exactly as they are.
    """
    if not np.any(degrees):
        return points
    along, up = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    x, y = points[:, 0], points[:, 1]
    return np.rint(np.column_stack([x * along - y * up, x * up + y * along]))


def mitered(area: shapely.Geometry, by: float, limit: float = SHARP_ANGLES) -> shapely.Geometry:
    """Return an area, or each of several, grown by so much on all sides, shrunk if negative."""
    return shapely.buffer(area, by, join_style="mitre", mitre_limit=limit)


def polygons_of(areas: shapely.Geometry | Polygons) -> Polygons:
    """Return the polygons of one or more areas; points and lines are left out."""
    parts = shapely.get_parts(areas)
    is_polygon = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    polygons: Polygons = parts[is_polygon & ~shapely.is_empty(parts)]
    return polygons


def are_upright(polygons: Polygons) -> npt.NDArray[np.bool_]:
    """Return of each polygon whether all its sides are upright or level."""
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    slanted = (np.diff(points, axis=0) != 0).all(axis=1) & (ring[1:] == ring[:-1])
    upright = np.ones(len(polygons), dtype=bool)
    upright[polygon[ring[1:][slanted]]] = False
    return upright


def align(boxes: Numbers, alignment_nm: int) -> tuple[Numbers, list[tuple[int, Numbers]]]:
    """Return the boxes of one array with their sides in line, and what was out of line.

    Sides that face one way and are at most `alignment_nm` inside the outermost of them are moved
    out to it; so on with the next one that is left. Each list entry is by how much sides were out
    of line [nm] and the corners of their boxes.
    """
    aligned, steps = boxes.copy(), []
    for side, outward in enumerate((-1, -1, 1, 1)):
        depths = -outward * boxes[:, side]
        order = np.argsort(depths, kind="stable")
        lines = depths[order]
        start = 0
        while start < len(lines):
            end = int(np.searchsorted(lines, lines[start] + alignment_nm, side="right"))
            if lines[end - 1] > lines[start]:
                members = order[start:end]
                aligned[members, side] = -outward * lines[start]
                steps.append((round(lines[end - 1] - lines[start]), boxes[members].reshape(-1, 2)))
            start = end
    return aligned, steps


def snap(boxes: Numbers) -> Numbers:
    """Return boxes with sides that only rounding parts on one line, whichever way they face."""
    snapped = boxes.copy()
    for axis in (0, 1):
        sides, number = np.unique(boxes[:, [axis, axis + 2]], return_inverse=True)
        first = np.diff(sides, prepend=-np.inf) > ROUNDING_NM
        snapped[:, [axis, axis + 2]] = sides[first][np.cumsum(first) - 1][number].reshape(-1, 2)
    return snapped


def close_modules(boxes: Numbers, join_nm: int, alignment_nm: int) -> Polygons:
    """Return what modules that join form in their own axes.

    It is shrunk by more than it was grown, and grown again part by part, which parts what only a
    sliver joins.
    """
    half, sliver = join_nm / 2, alignment_nm / 2
    area = shapely.union_all(shapely.box(*(boxes + half * np.array([-1, -1, 1, 1])).T))
    parts = polygons_of(mitered(area, -half - sliver))
    # buffers are exact to a fraction of a nanometer, and the true corners are whole
    return tidied(polygons_of(shapely.set_precision(mitered(parts, sliver), _WHOLE_NM)))


def close_mixed(shapes: Polygons, drawn: npt.NDArray[np.bool_], join_nm: int) -> Polygons:
    """Return what arrays of several axes and drawn shapes form, all in the same axes.

    The slots of a drawn shape stay open, unless something else lies in them.
    """
    order = np.argsort(shapely.to_wkb(shapely.normalize(shapes)))  # results must not depend on it
    shapes, drawn = shapes[order], drawn[order]
    upright = bool(are_upright(shapes).all())
    rounding_nm = 0 if upright else ROUNDING_NM
    if len(shapes) == 1:
        return tidied(polygons_of(shapes), rounding_nm)
    half = join_nm / 2 + max(rounding_nm, _WHOLE_NM / 4)
    whole = shapely.union_all(shapes, grid_size=_WHOLE_NM)
    swollen = mitered(shapes, half, RIGHT_ANGLES)
    closed = mitered(shapely.union_all(swollen), -half, RIGHT_ANGLES)
    own = mitered(swollen[drawn], -half, RIGHT_ANGLES)
    slots = polygons_of(shapely.difference(own, shapes[drawn]))
    free = shapely.area(shapely.intersection(slots, whole)) < _NOTHING_INSIDE
    fills = shapely.difference(closed, shapely.union_all(slots[free]), grid_size=_WHOLE_NM)
    joined = shapely.union_all([*shapes, *polygons_of(fills)], grid_size=_WHOLE_NM)
    return tidied(polygons_of(joined), rounding_nm)


def tidied(polygons: Polygons, rounding_nm: float = 0) -> Polygons:
    """Return polygons without corners at which the side runs straight on.

    Simplifying is quick but keeps a few of them: where it happened to part a ring.
    """
    tidy: Polygons = shapely.simplify(polygons, rounding_nm)
    for at in np.flatnonzero(shapely.get_num_coordinates(tidy) > 5):
        exterior, *holes = (
            _straightened(shapely.get_coordinates(ring)[:-1].tolist(), rounding_nm)
            for ring in shapely.get_rings(tidy[at])
        )
        tidy[at] = shapely.Polygon(exterior, holes)
    return tidy


def _straightened(
    ring: Sequence[tuple[float, float]], rounding_nm: float
) -> Sequence[tuple[float, float]]:
    """Return a ring without corners within `rounding_nm` of the line from the one before on."""
    corners: list[tuple[float, float]] = []
    for at, (x, y) in enumerate(ring):
        before = corners[-1] if corners else ring[-1]
        # at the end of the ring the first corner may be gone already
        after = ring[at + 1] if at + 1 < len(ring) else (corners or ring)[0]
        along, up = after[0] - before[0], after[1] - before[1]
        aside = along * (y - before[1]) - up * (x - before[0])
        if aside * aside > rounding_nm * rounding_nm * (along * along + up * up):
            corners.append((x, y))
    return corners if len(corners) == len(ring) else _straightened(corners, rounding_nm)
