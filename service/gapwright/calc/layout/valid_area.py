"""Areas as GeoJSON that every tool takes: no ring crosses or touches itself.

Coordinates are rounded, and corners next to slanted sides are snapped to whole nanometers, so what
lies close together can come to touch or to cross. Reference: RFC 7946, 3.1.6, with the rings of
OGC 06-103r4, 6.1.11.1: rings may touch each other in points only, and leave the inside in one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

from gapwright.quantity.show import decimal

Ring = list[list[float]]

_GRAINS = (0.000_001, 0.000_01)
"""What a coordinate is rounded to [m], and the coarser grain that nothing near zero falls below."""


def valid_area(rings: Sequence[Ring]) -> tuple[str, Any]:
    """Return the type and the coordinates of the area in a closed ring, less those of its holes.

    `rings` are in meters as `decimal` gives them, and stay as they are where they are valid.
    Otherwise those that touch themselves are cut in two, and what is thinner than the grain of a
    coordinate goes. It is a Polygon, or a MultiPolygon where it is not one part: parts that only
    touch, or nothing that has an area.
    """
    area: shapely.Geometry = shapely.Polygon(rings[0], rings[1:])
    if area.is_valid:
        return "Polygon", rings
    for grain in _GRAINS:
        mended = shapely.make_valid(area, method="structure", keep_collapsed=False)
        area = _told(shapely.set_precision(mended, grain))
        if area.is_valid:
            break
    parts = shapely.get_parts(shapely.orient_polygons(area))
    found = [_rings(part) for part in parts if part.geom_type == "Polygon" and part.area]
    return ("Polygon", found[0]) if len(found) == 1 else ("MultiPolygon", found)


def _told(area: shapely.Geometry) -> shapely.Geometry:
    """Return an area with the coordinates that the answer shows."""
    return shapely.transform(area, lambda spots: [[decimal(x), decimal(y)] for x, y in spots])


def _rings(part: shapely.Polygon) -> list[Ring]:
    return [
        [[decimal(x), decimal(y)] for x, y in ring.coords]
        for ring in (part.exterior, *part.interiors)
    ]
