"""Modules and drawn shapes as polygons to compute with, and every fault in them at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import shapely

from gapwright.calc.outline.closing import Numbers, Polygons, polygons_of, rotated
from gapwright.calc.outline.shape import DrawnShape, Module, Path, Spot
from gapwright.errors import Fault, InvalidRequestError

MOST_POINTS = 2_000
_ANGLE_PLACES = 7
_RIGHT_ANGLE = 90

Spots = list[Spot]


class PlaneShapes(NamedTuple):
    """What covers a roof plane, measured from `origin`, its lower left end.

    Whole nanometers are exact in doubles up to 9,000 km; a request reaches 10 km, so that rotated
    ones have digits to spare.

    Of each shape, modules first: where it is in the input, its area on the roof plane, by how
    much its axes are rotated, and its left, lower, right and upper side in those axes. For drawn
    shapes the last two are not numbers.
    """

    origin: Spot
    paths: list[Path]
    areas: Polygons
    degrees: Numbers
    boxes: Numbers


def upright_boxes(modules: Sequence[Module]) -> list[tuple[int, int, int, int]]:
    """Return the boxes of the modules that are upright or rotated by right angles [nm].

    Each is left, lower, right, upper.
    """
    degrees, sides = _sides(modules)
    places = np.array([(m.x_nm, m.y_nm) * 2 for m in modules], dtype=np.int64).reshape(-1, 4)
    boxes = places + sides.astype(np.int64)
    return [tuple(box) for box in boxes[degrees == 0].tolist()]


def read_plane(
    modules: Sequence[Module], drawn: Sequence[DrawnShape]
) -> tuple[PlaneShapes, list[Fault]]:
    """Return the shapes that can be used, and the faults of drawn ones that cannot.

    Errors: InvalidRequestError where there are too many points to look at.
    """
    points = sum(len(ring) for shape in drawn for ring in (shape.exterior, *shape.holes))
    if points > MOST_POINTS:
        problem = f"Expected at most {MOST_POINTS} points in total; got {points}."
        remedy = "Use fewer points."
        raise InvalidRequestError([Fault(path=("outline",), problem=problem, remedy=remedy)])
    faults: list[Fault] = []
    paths: list[Path] = [("modules", number) for number in range(len(modules))]
    shapes: list[list[Spots]] = []
    for number, shape in enumerate(drawn):
        rings = [_open(ring) for ring in (shape.exterior, *shape.holes)]
        if found := list(_ring_faults(("outline", number), rings)):
            faults += found
        else:
            paths.append(("outline", number))
            shapes.append(rings)
    places = [(module.x_nm, module.y_nm) for module in modules]
    x, y = zip(*(places + [spot for rings in shapes for spot in rings[0]] or [(0, 0)]), strict=True)
    origin = min(x), min(y)
    degrees, sides = _sides(modules)
    places = [(x - origin[0], y - origin[1]) for x, y in places]
    boxes = np.tile(rotated(np.array(places, dtype=float).reshape(-1, 2), -degrees), 2) + sides
    plane = PlaneShapes(
        origin=origin,
        paths=paths,
        areas=np.concatenate([_module_areas(degrees, boxes), _drawn_areas(shapes, origin)]),
        degrees=np.concatenate([degrees, np.full(len(shapes), np.nan)]),
        boxes=np.concatenate([boxes, np.full((len(shapes), 4), np.nan)]),
    )
    return plane, faults


def _sides(modules: Sequence[Module]) -> tuple[Numbers, Numbers]:
    """Return by how much the axes of modules are rotated, and their sides in these axes.

    Sides are measured from the corner about which a module is rotated.
    """
    sizes = [(module.width_nm, module.height_nm, module.turn_degrees) for module in modules]
    width, height, rotation = np.array(sizes, dtype=float).reshape(-1, 3).T
    degrees = np.round(rotation % _RIGHT_ANGLE, _ANGLE_PLACES) % _RIGHT_ANGLE
    quarters = np.rint((rotation - degrees) / _RIGHT_ANGLE).astype(int) % 4
    nothing = np.zeros(len(sizes))
    by_quarters = np.array(
        [
            (nothing, nothing, width, height),
            (-height, nothing, nothing, width),
            (-width, -height, nothing, nothing),
            (nothing, -width, height, nothing),
        ]
    )
    return degrees, by_quarters[quarters, :, np.arange(len(sizes))]


def _module_areas(degrees: Numbers, boxes: Numbers) -> Polygons:
    around = boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 2)
    corners = rotated(around, np.repeat(degrees, 4)).reshape(-1, 4, 2)
    return np.asarray(shapely.polygons(corners), dtype=object)


def _drawn_areas(drawn: Sequence[Sequence[Spots]], origin: Spot) -> Polygons:
    areas = np.empty(len(drawn), dtype=object)
    for number, rings in enumerate(drawn):
        exterior, *holes = (_polygon(ring, origin) for ring in rings)
        areas[number] = shapely.difference(exterior, shapely.union_all(holes))
    return areas


def _polygon(ring: Spots, origin: Spot) -> shapely.Polygon:
    return shapely.Polygon([(x - origin[0], y - origin[1]) for x, y in ring])


def _open(ring: Sequence[Spot]) -> Spots:
    """Return the ring without points that repeat the one before, nor the first at the end."""
    opened = [point for at, point in enumerate(ring) if not at or point != ring[at - 1]]
    while len(opened) > 1 and opened[0] == opened[-1]:
        opened.pop()
    return opened


def _ring_faults(path: Path, rings: Sequence[Spots]) -> Iterator[Fault]:
    places: list[Path] = [
        (*path, "exterior"),
        *((*path, "holes", at) for at in range(len(rings) - 1)),
    ]
    bad = False
    for place, ring in zip(places, rings, strict=True):
        if problem := _ring_problem(ring):
            bad = True
            yield Fault(
                path=place, problem=problem, remedy="List its corners in order, once around."
            )
    if not bad and len(rings) > 1:
        yield from _hole_faults(path, rings)


def _ring_problem(ring: Spots) -> str:
    """Return what makes a ring useless, or nothing."""
    if (count := len(set(ring))) < 3:
        return f"Expected at least 3 different points; got {count}."
    area = _polygon(ring, ring[0])
    if not area.convex_hull.area:
        return "Expected a ring that encloses an area; got points on one line."
    return (
        "" if area.is_valid else "Expected a simple ring; got one that crosses or touches itself."
    )


def _hole_faults(path: Path, rings: Sequence[Spots]) -> Iterator[Fault]:
    """Yield a fault for each hole outside its shell, and each that overlaps an earlier one.

    A hole may touch the shell or another hole.
    """
    exterior, *holes = (_polygon(ring, rings[0][0]) for ring in rings)
    if not polygons_of(shapely.difference(exterior, shapely.union_all(holes))).size:
        yield Fault(
            path=path,
            problem="Expected holes that leave some area; got holes that cover all of it.",
            remedy="Remove the shape.",
        )
    shapely.prepare(exterior)
    outside = ~shapely.covers(exterior, holes)
    pairs = shapely.STRtree(holes).query(holes, predicate="intersects").T.tolist()
    for at in range(len(holes)):
        place: Path = (*path, "holes", at)
        if outside[at]:
            problem = "Expected a hole inside the exterior; got one that extends outside it."
            yield Fault(path=place, problem=problem, remedy="Move it inside the exterior.")
        for other in sorted(second for first, second in pairs if first == at and second < at):
            if shapely.relate_pattern(holes[at], holes[other], "T********"):
                problem = f"Expected holes that do not overlap; got one that overlaps hole {other}."
                yield Fault(path=place, problem=problem, remedy="Merge the two holes.")
