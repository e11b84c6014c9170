"""Upright modules and shapes as one area: the quick way first, the plain way where that fails."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.outline.check import Shape
from service.calc.outline.closing import Closed, closed
from service.calc.outline.edges import OverlapError, Rect, changed, region_of
from service.calc.outline.grid import merged
from service.calc.outline.overlap import overlap_findings
from service.calc.outline.rings import Place
from service.errors import BadInputError


def square_closed(shapes: Sequence[Shape], join_nm: int, reach_nm: int, origin: Place) -> Closed:
    """Return the area of upright shapes, gaps between them closed, slots drawn in them kept.

    Errors: BadInputError where shapes overlap.
    """
    drawn = [shape for shape in shapes if shape.rect is None]
    kept = [box for shape in drawn for box in _own_slots(shape, join_nm)]
    try:
        whole = _quick(shapes, kept, join_nm, reach_nm)
    except OverlapError:
        faults, _ = overlap_findings(shapes, origin)
        if faults:
            raise BadInputError(faults) from None
        return plain_closed(shapes, join_nm, reach_nm)
    return closed(changed(whole.region, kept, -1), 0, reach_nm) if kept else whole


def plain_closed(shapes: Sequence[Shape], join_nm: int, reach_nm: int) -> Closed:
    """Return the same without shortcuts: for things that lie in a gap narrower than the join gap.

    A slot drawn narrower than the join gap closes here, as it has something in it.
    """
    rects = [shape.rect for shape in shapes if shape.rect]
    rings = [ring for shape in shapes for ring in shape.rings]
    return closed(region_of(rects, rings), join_nm, reach_nm)


def _quick(shapes: Sequence[Shape], kept: list[Rect], join_nm: int, reach_nm: int) -> Closed:
    """Return the closed area with rows merged, and slots to be kept counted as material."""
    rects = merged((shape.rect for shape in shapes if shape.rect), join_nm)
    rings = [ring for shape in shapes for ring in shape.rings]
    region = region_of([*rects, *kept], rings)
    if len(rects) == 1 and not kept and not rings:
        return Closed(region, [], ([], []))  # one box: nothing faces anything
    return closed(region, join_nm, reach_nm)


def _own_slots(shape: Shape, join_nm: int) -> list[Rect]:
    return closed(region_of((), shape.rings), join_nm, 0).filled
