"""Arrays of modules that are all turned alike: closed in axes turned with them, as upright ones.

Accuracy: as of `turned`, but gaps are closed straight along the modules' own sides, whatever
hair the modules stand out of line by, and nothing is cut off at an inside corner.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, radians, sin

import shapely

from service.calc.outline.check import Shape, turned_box
from service.calc.outline.closing import closed
from service.calc.outline.edges import Rect, region_of
from service.calc.outline.loops import Rings, rings_of
from service.calc.outline.rings import Place
from service.calc.outline.shape import Module
from service.calc.outline.turned import SEAM_NM, tidied

_ALIKE_PLACES = 7
_RIGHT_ANGLE = 90


def turned_alike(shapes: Sequence[Shape]) -> float | None:
    """Return the angle by which all are turned, but for right angles and a hair [degrees].

    None where they are not all modules, or not turned alike.
    """
    turns = {
        round(shape.module.turn_degrees % _RIGHT_ANGLE, _ALIKE_PLACES) if shape.module else None
        for shape in shapes
    }
    return turns.pop() if len(turns) == 1 else None


def aligned_rings(shapes: Sequence[Shape], join_nm: int, origin: Place) -> list[Rings]:
    """Return the arrays that modules form, all `turned_alike`, with gaps up to `join_nm` closed.

    Modules that overlap by a hair are taken to touch.
    """
    axes = _Axes(shapes, origin)
    whole = closed(region_of(_apart(axes.boxes)), join_nm + 2 * SEAM_NM, 0)
    return [
        Rings(tidied(axes.back(rings.outer)), tuple(tidied(axes.back(h)) for h in rings.holes))
        for rings in rings_of(whole.region)
    ]


class _Axes:
    """Axes turned with the modules: the modules as upright boxes, and the way back."""

    def __init__(self, shapes: Sequence[Shape], origin: Place) -> None:
        modules = [shape.module for shape in shapes if shape.module]
        self._turn = min(module.turn_degrees for module in modules)
        self._origin = origin
        angle = radians(self._turn)
        self._along, self._up = cos(angle), sin(angle)
        self.boxes = _in_line([self._box(module) for module in modules])
        self._known: dict[Place, Place] = {}
        for shape, module, box in zip(shapes, modules, self.boxes, strict=True):
            left, lower, right, upper = box
            corners = ((left, lower), (right, lower), (right, upper), (left, upper))
            for at, place in enumerate(shape.rings[0], self._quarters(module)):
                self._known[corners[at % 4]] = place

    def _quarters(self, module: Module) -> int:
        return round((module.turn_degrees - self._turn) / _RIGHT_ANGLE)

    def _box(self, module: Module) -> Rect:
        x, y = module.x_nm - self._origin[0], module.y_nm - self._origin[1]
        return turned_box(
            round(x * self._along + y * self._up),
            round(y * self._along - x * self._up),
            module,
            self._quarters(module),
        )

    def back(self, ring: Sequence[Place]) -> tuple[Place, ...]:
        """Return a ring of these axes on the roof plane; corners of modules are exactly theirs."""
        return tuple(self._known.get(place) or self._turned_back(place) for place in ring)

    def _turned_back(self, place: Place) -> Place:
        u, v = place
        return (
            self._origin[0] + round(u * self._along - v * self._up),
            self._origin[1] + round(u * self._up + v * self._along),
        )


def _in_line(boxes: Sequence[Rect]) -> list[Rect]:
    """Return the boxes with sides that only the rounding of these axes set apart on one line."""
    across = _lines({side for left, _, right, _ in boxes for side in (left, right)})
    up = _lines({side for _, lower, _, upper in boxes for side in (lower, upper)})
    return [(across[a], up[b], across[c], up[d]) for a, b, c, d in boxes]


def _lines(sides: Iterable[int]) -> dict[int, int]:
    """Return for each side the first of those that lead to it in steps of up to SEAM_NM."""
    lines: dict[int, int] = {}
    before = None
    for side in sorted(sides):
        lines[side] = side if before is None or side - before > SEAM_NM else lines[before]
        before = side
    return lines


def _apart(boxes: Sequence[Rect]) -> list[Rect]:
    """Return the boxes with the later of two that overlap cut back, the shorter way."""
    found = list(boxes)
    areas = shapely.box(*zip(*boxes, strict=True))
    for later, earlier in sorted(shapely.STRtree(areas).query(areas).T.tolist()):
        if earlier < later:
            found[later] = _cut_back(found[later], found[earlier])
    return found


def _cut_back(box: Rect, other: Rect) -> Rect:
    left, lower, right, upper = box
    across = min(right, other[2]) - max(left, other[0])
    up = min(upper, other[3]) - max(lower, other[1])
    if across <= 0 or up <= 0:
        return box
    if across <= up:
        return (
            (other[2], lower, right, upper) if left > other[0] else (left, lower, other[0], upper)
        )
    return (left, other[3], right, upper) if lower > other[1] else (left, lower, right, other[1])
