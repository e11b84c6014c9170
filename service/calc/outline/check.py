"""What modules and drawn shapes say, checked: shapes to compute with, and every fault at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, isfinite, radians, sin
from typing import NamedTuple

from service.calc.outline.edges import Rect, Ring
from service.calc.outline.rings import (
    Path,
    hole_faults,
    is_square,
    is_thicker,
    open_ring,
    ring_problem,
    running,
)
from service.calc.outline.shape import DrawnShape, GapRules, Module
from service.errors import Fault

FARTHEST_NM = 10**13
LEAST_SLANTED_NM = 1000
_RIGHT_ANGLE = 90
_NO_TURN_NM = 0.5


class Shape(NamedTuple):
    """An area of the roof that is covered: an upright box, or rings with the material on the left.

    `square` says that every edge is upright or level. `module` is the one that it was read from,
    if that is turned.
    """

    path: Path
    rect: Rect | None
    rings: tuple[Ring, ...]
    square: bool
    module: Module | None = None

    @property
    def drawn(self) -> bool:
        """Return whether it was drawn as rings, and is no module."""
        return self.path[0] == "outline"

    @property
    def outline(self) -> tuple[Ring, ...]:
        """Return the rings, also of a box."""
        if self.rect is None:
            return self.rings
        left, lower, right, upper = self.rect
        return (((left, lower), (right, lower), (right, upper), (left, upper)),)


def read_shapes(
    modules: Sequence[Module], drawn: Sequence[DrawnShape]
) -> tuple[list[Shape], list[Fault]]:
    """Return the shapes that can be used and the faults of the others."""
    faults: list[Fault] = []
    shapes = [shape for i, module in enumerate(modules) if (shape := _module(i, module, faults))]
    shapes += [shape for i, area in enumerate(drawn) if (shape := _drawn(i, area, faults))]
    if any(shape.rect is None for shape in shapes):
        faults += _far(shapes)
    if not modules and not drawn:
        faults.append(
            Fault(path=(), problem="There is no module and no outline.", remedy="Give one.")
        )
    return shapes, faults


def rule_faults(rules: GapRules) -> list[Fault]:
    """Return a fault for every width that is below nothing."""
    named = {
        "join_gap": rules.join_gap_nm,
        "hand_gap": rules.hand_gap_nm,
        "near_gap": rules.near_gap_nm,
        "level_gap": rules.level_gap_nm,
    }
    return [
        Fault(path=(name,), problem="It is negative.", remedy="Write 0 or more.")
        for name, gap_nm in named.items()
        if gap_nm < 0
    ]


def _module(index: int, module: Module, faults: list[Fault]) -> Shape | None:
    path: Path = ("modules", index)
    if module.width_nm <= 0 or module.height_nm <= 0 or not isfinite(module.turn_degrees):
        faults += _module_faults(path, module)
        return None
    box = upright_box(module)
    return Shape(path, box, (), square=True) if box else _turned(path, module, faults)


def _module_faults(path: Path, module: Module) -> Iterator[Fault]:
    for name, size_nm in (("width", module.width_nm), ("height", module.height_nm)):
        if size_nm <= 0:
            yield Fault(
                path=(*path, name),
                problem=f"The {name} is not above zero.",
                remedy="Write its size.",
            )
    if not isfinite(module.turn_degrees):
        yield Fault(path=(*path, "turn"), problem="It is not a number.", remedy="Write degrees.")


def upright_box(module: Module) -> Rect | None:
    """Return the box of a module that stands upright or is turned by right angles, else None.

    An angle that moves no corner by half a nanometre is none: angles are often computed.
    """
    x, y = module.x_nm, module.y_nm
    if not module.turn_degrees:
        return x, y, x + module.width_nm, y + module.height_nm
    quarters = round(module.turn_degrees / _RIGHT_ANGLE)
    rest = radians(module.turn_degrees - quarters * _RIGHT_ANGLE)
    aside_nm = abs(rest) * max(module.width_nm, module.height_nm)
    return turned_box(x, y, module, quarters) if aside_nm < _NO_TURN_NM else None


def turned_box(x: int, y: int, module: Module, quarters: int) -> Rect:
    """Return the box of a module whose corner is at (x, y), turned by so many right angles."""
    width, height = module.width_nm, module.height_nm
    left, lower, right, upper = (
        (0, 0, width, height),
        (-height, 0, 0, width),
        (-width, -height, 0, 0),
        (0, -width, height, 0),
    )[quarters % 4]
    return x + left, y + lower, x + right, y + upper


def _turned(path: Path, module: Module, faults: list[Fault]) -> Shape | None:
    along, up = cos(radians(module.turn_degrees)), sin(radians(module.turn_degrees))
    corners = (
        (0, 0),
        (module.width_nm, 0),
        (module.width_nm, module.height_nm),
        (0, module.height_nm),
    )
    ring = tuple(
        (module.x_nm + round(x * along - y * up), module.y_nm + round(x * up + y * along))
        for x, y in corners
    )
    shape = _shape(path, (ring,), faults)
    return shape and shape._replace(module=module)


def _drawn(index: int, area: DrawnShape, faults: list[Fault]) -> Shape | None:
    path: Path = ("outline", index)
    named = [((*path, "shell"), area.shell)]
    named += [((*path, "holes", i), ring) for i, ring in enumerate(area.holes)]
    rings = [open_ring(ring) for _, ring in named]
    found = [
        Fault(path=place, problem=problem, remedy="Draw its corners in order, once round.")
        for (place, _), ring in zip(named, rings, strict=True)
        if (problem := ring_problem(ring))
    ]
    found = found or list(hole_faults(path, rings))
    faults += found
    if found:
        return None
    oriented = tuple(running(ring, 1 if i == 0 else -1) for i, ring in enumerate(rings))
    return _shape(path, oriented, faults)


def _shape(path: Path, rings: tuple[Ring, ...], faults: list[Fault]) -> Shape | None:
    """Return the shape, unless it is slanted and too thin for floats snapped to nanometres."""
    square = is_square(rings)
    if square or is_thicker(rings[0], LEAST_SLANTED_NM):
        return Shape(path, None, rings, square)
    faults.append(
        Fault(path=path, problem="It is too narrow to be computed.", remedy="Check its units.")
    )
    return None


def _far(shapes: Sequence[Shape]) -> Iterator[Fault]:
    """Turned and slanted shapes are computed in floats, which are exact enough only so far."""
    (x, y), *_ = shapes[0].outline[0]
    for shape in shapes:
        if any(max(abs(u - x), abs(v - y)) > FARTHEST_NM for u, v in shape.outline[0]):
            yield Fault(
                path=shape.path,
                problem="It reaches more than 10 km from the first shape.",
                remedy="Check its units.",
            )
