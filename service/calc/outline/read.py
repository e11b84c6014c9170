"""Modules and drawn shapes as polygons to compute with, and every fault in them at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import NamedTuple

import numpy as np
import shapely

from service.calc.outline.closing import Numbers, Polygons, polygons_of, rotated
from service.calc.outline.shape import DrawnShape, GapRules, Module, Path, Rect
from service.errors import BadInputError, Fault

MOST_MODULES = 20_000
MOST_POINTS = 4_000
FARTHEST_NM = 10**13
"""10 km. Whole nanometers are exact in doubles up to 9,000 km; rotated ones need spare digits."""
_ANGLE_PLACES = 7
_RIGHT_ANGLE = 90
_NM_PER_MM = 10**6

Place = tuple[int, int]
Ring = list[Place]


class Plane(NamedTuple):
    """What covers a roof plane, measured from `origin`, its lower left end.

    Of each shape, modules first: where it is in the input, its area on the roof plane, by how
    much its axes are rotated, and its left, lower, right and upper side in those axes. For drawn
    shapes the last two are not numbers.
    """

    origin: Place
    paths: list[Path]
    areas: Polygons
    degrees: Numbers
    boxes: Numbers


def upright_box(module: Module) -> Rect | None:
    """Return the box of a module that is upright or rotated by right angles, else None."""
    quarters, rest = _rotation(module)
    if rest:
        return None
    left, lower, right, upper = _sides(module, quarters)
    x, y = module.x_nm, module.y_nm
    return x + left, y + lower, x + right, y + upper


def read_plane(
    modules: Sequence[Module], drawn: Sequence[DrawnShape], rules: GapRules
) -> tuple[Plane, list[Fault]]:
    """Return the shapes that can be used, and the faults of the others.

    Errors: BadInputError where there is nothing or too much to look at, or a rule is negative.
    """
    if first := [*_rule_faults(rules), *_count_faults(modules, drawn)]:
        raise BadInputError(first)
    faults: list[Fault] = []
    good: list[tuple[Path, Module]] = []
    rings: list[tuple[Path, list[Ring]]] = []
    for number, module in enumerate(modules):
        path: Path = ("modules", number)
        found = list(_module_faults(path, module, rules.alignment_nm))
        if not found:
            good.append((path, module))
        faults += found
    for number, shape in enumerate(drawn):
        path = ("outline", number)
        opened = [_open(ring) for ring in (shape.shell, *shape.holes)]
        found = list(_ring_faults(path, opened))
        if not found:
            rings.append((path, opened))
        faults += found
    corners = [(path, [(module.x_nm, module.y_nm)]) for path, module in good]
    corners += [(path, opened[0]) for path, opened in rings]
    if far := list(_far_faults(corners)):
        raise BadInputError([*faults, *far])
    points = [point for _, places in corners for point in places]
    origin = min((x for x, _ in points), default=0), min((y for _, y in points), default=0)
    degrees, boxes = _boxes([module for _, module in good], origin)
    drawn_areas = _drawn_areas([opened for _, opened in rings], origin)
    plane = Plane(
        origin=origin,
        paths=[path for path, _ in corners],
        areas=np.concatenate([_module_areas(degrees, boxes), drawn_areas]),
        degrees=np.concatenate([degrees, np.full(len(rings), np.nan)]),
        boxes=np.concatenate([boxes, np.full((len(rings), 4), np.nan)]),
    )
    return plane, faults


def _rotation(module: Module) -> tuple[int, float]:
    """Return the quarter turns of a module and the degrees beyond them, from 0 to below 90."""
    rest = round(module.turn_degrees % _RIGHT_ANGLE, _ANGLE_PLACES) % _RIGHT_ANGLE
    return round((module.turn_degrees - rest) / _RIGHT_ANGLE) % 4, rest


def _sides(module: Module, quarters: int) -> Rect:
    """Return the sides of a module, measured from its corner, after some quarter turns."""
    width, height = module.width_nm, module.height_nm
    return (
        (0, 0, width, height),
        (-height, 0, 0, width),
        (-width, -height, 0, 0),
        (0, -width, height, 0),
    )[quarters]


def _boxes(modules: Sequence[Module], origin: Place) -> tuple[Numbers, Numbers]:
    """Return by how much each module is rotated, and its box in axes rotated with it."""
    rotations = [_rotation(module) for module in modules]
    sides = [_sides(module, turns) for module, (turns, _) in zip(modules, rotations, strict=True)]
    places = [(module.x_nm - origin[0], module.y_nm - origin[1]) for module in modules]
    degrees = np.array([rest for _, rest in rotations], dtype=float)
    corners = rotated(np.array(places, dtype=float).reshape(-1, 2), -degrees)
    return degrees, np.tile(corners, 2) + np.array(sides, dtype=float).reshape(-1, 4)


def _module_areas(degrees: Numbers, boxes: Numbers) -> Polygons:
    around = boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 2)
    corners = rotated(around, np.repeat(degrees, 4)).reshape(-1, 4, 2)
    return np.asarray(shapely.polygons(corners), dtype=object)


def _drawn_areas(drawn: Sequence[Sequence[Ring]], origin: Place) -> Polygons:
    areas = np.empty(len(drawn), dtype=object)
    for number, rings in enumerate(drawn):
        shell, *holes = (_polygon(ring, origin) for ring in rings)
        areas[number] = shapely.difference(shell, shapely.union_all(holes))
    return areas


def _polygon(ring: Ring, origin: Place) -> shapely.Polygon:
    return shapely.Polygon([(x - origin[0], y - origin[1]) for x, y in ring])


def _open(ring: Sequence[Place]) -> Ring:
    """Return the ring without points that repeat the one before, nor the first at the end."""
    opened = [point for at, point in enumerate(ring) if not at or point != ring[at - 1]]
    while len(opened) > 1 and opened[0] == opened[-1]:
        opened.pop()
    return opened


def _rule_faults(rules: GapRules) -> Iterator[Fault]:
    for name in ("join_gap", "level_gap"):
        if (gap_nm := getattr(rules, f"{name}_nm")) < 0:
            yield Fault(
                path=(name,), problem=f"Expected a gap of 0 or more; got {format_mm(gap_nm)}."
            )


def _count_faults(modules: Sequence[Module], drawn: Sequence[DrawnShape]) -> Iterator[Fault]:
    points = sum(len(ring) for shape in drawn for ring in (shape.shell, *shape.holes))
    if not modules and not drawn:
        yield Fault(path=(), problem="Expected a module or an outline; got none.")
    if len(modules) > MOST_MODULES:
        problem = f"Expected at most {MOST_MODULES} modules; got {len(modules)}."
        yield Fault(path=("modules",), problem=problem, remedy="Lay out fewer at once.")
    if points > MOST_POINTS:
        problem = f"Expected at most {MOST_POINTS} points in all; got {points}."
        yield Fault(path=("outline",), problem=problem, remedy="Draw it with fewer.")


def _module_faults(path: Path, module: Module, alignment_nm: int) -> Iterator[Fault]:
    for name, size_nm in (("width", module.width_nm), ("height", module.height_nm)):
        if size_nm <= alignment_nm:
            problem = f"Expected more than {format_mm(alignment_nm)}; got {format_mm(size_nm)}."
            yield Fault(path=(*path, name), problem=problem, remedy="Write its size.")
    if not isfinite(module.turn_degrees):
        problem = f"Expected degrees; got {module.turn_degrees}."
        yield Fault(path=(*path, "turn"), problem=problem)


def _ring_faults(path: Path, rings: Sequence[Ring]) -> Iterator[Fault]:
    places: list[Path] = [(*path, "shell"), *((*path, "holes", at) for at in range(len(rings) - 1))]
    bad = False
    for place, ring in zip(places, rings, strict=True):
        if problem := _ring_problem(ring):
            bad = True
            yield Fault(
                path=place, problem=problem, remedy="Draw its corners in order, once round."
            )
    if not bad and len(rings) > 1:
        yield from _hole_faults(path, rings)


def _ring_problem(ring: Ring) -> str:
    """Return what makes a ring useless, or nothing."""
    if (count := len(set(ring))) < 3:
        return f"Expected at least 3 different points; got fewer: {count}."
    area = _polygon(ring, ring[0])
    if not area.convex_hull.area:
        return "Expected a ring round an area; got points on one line."
    return (
        "" if area.is_valid else "Expected a simple ring; got one that crosses or touches itself."
    )


def _hole_faults(path: Path, rings: Sequence[Ring]) -> Iterator[Fault]:
    """Yield a fault for each hole outside its shell, and each that overlaps an earlier one.

    A hole may touch the shell or another hole.
    """
    shell, *holes = (_polygon(ring, rings[0][0]) for ring in rings)
    if not polygons_of(shapely.difference(shell, shapely.union_all(holes))).size:
        yield Fault(
            path=path,
            problem="Expected holes that leave something; got none of it left.",
            remedy="Leave it out.",
        )
    shapely.prepare(shell)
    outside = ~shapely.covers(shell, holes)
    pairs = shapely.STRtree(holes).query(holes, predicate="intersects").T.tolist()
    for at in range(len(holes)):
        place: Path = (*path, "holes", at)
        if outside[at]:
            problem = "Expected a hole inside the shell; got one that reaches outside."
            yield Fault(path=place, problem=problem, remedy="Draw it inside.")
        for other in sorted(second for first, second in pairs if first == at and second < at):
            if shapely.relate_pattern(holes[at], holes[other], "T********"):
                problem = f"Expected holes that do not overlap; got one that overlaps hole {other}."
                yield Fault(path=place, problem=problem, remedy="Draw the two as one.")


def _far_faults(shapes: Sequence[tuple[Path, Ring]]) -> Iterator[Fault]:
    for path, points in shapes:
        x, y = shapes[0][1][0]
        if any(max(abs(u - x), abs(v - y)) > FARTHEST_NM for u, v in points):
            yield Fault(
                path=path,
                problem="Expected shapes within 10 km; got one farther from the first.",
                remedy="Check its units.",
            )


def format_mm(length_nm: int) -> str:
    """Return a length in millimeters, to the nanometer, without zeros at its end."""
    return f"{length_nm / _NM_PER_MM:.6f}".rstrip("0").rstrip(".") + " mm"
