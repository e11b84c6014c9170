"""From the modules of one roof plane to the loops around which the barrier runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from gapwright.calc.outline.closing import (
    Numbers,
    Polygons,
    align,
    close_mixed,
    close_modules,
    rotated,
    snap,
)
from gapwright.calc.outline.loops import build_arrays
from gapwright.calc.outline.nearness import near_pairs
from gapwright.calc.outline.pairs import MOST_PAIRS, Healed, find_pairs
from gapwright.calc.outline.read import read_plane
from gapwright.calc.outline.shape import (
    ROUNDING_NM,
    ArrayShape,
    Bounds,
    DrawnShape,
    GapRules,
    Module,
    Note,
    NoteKind,
    Outline,
    Spot,
)
from gapwright.errors import Fault, InvalidRequestError

_LEAST_NOTED_NM = 10_000
"""A hundredth of a millimeter: below that, computed coordinates differ by chance."""
MOST_MIXED = 700
"""Arrays of different axes and drawn shapes that lie within the join gap of one another."""


def outline_of(
    modules: Sequence[Module], drawn: Sequence[DrawnShape] = (), *, rules: GapRules
) -> Outline:
    """Return the loops around the arrays that modules and drawn shapes form.

    Modules with the same rotation, or a quarter turn more, are closed in axes rotated with them:
    gaps up to the join gap, measured straight across or up, are filled, and no corner is
    invented. Overlaps, and sides of an array's modules that are out of line, up to the level gap
    are taken for rounding and noted: a side follows the outermost module. Arrays of other
    rotations and drawn shapes within the join gap of one another are then joined as they are.
    Limits: modules larger than what is taken for rounding, as those of requests are; 2,000 drawn
    points and 8,000 sides of modules along outlines, counted before outlines are computed.
    Errors: InvalidRequestError, all faults at once, with paths from ("modules", i) or
    ("outline", i).
    """
    plane, faults = read_plane(modules, drawn)
    pairs = find_pairs(plane, rules)
    if faults or pairs.faults:
        raise InvalidRequestError([*faults, *pairs.faults])
    healed = pairs.healed
    closed: list[ArrayShape] = []
    is_drawn = np.isnan(plane.degrees)
    for members in connected(len(modules), pairs.later.tolist(), pairs.earlier.tolist()):
        degrees = float(plane.degrees[members[0]])
        boxes = plane.boxes[members]
        if len(members) == 1:
            closed.append(ArrayShape(degrees, shapely.box(*boxes[0])))
            continue
        boxes, steps = align(snap(boxes) if degrees else boxes, rules.alignment_nm)
        healed += [(nm, rotated(ends, degrees)) for nm, ends in steps]
        join_nm = rules.max_module_gap_nm + (2 * ROUNDING_NM if degrees else 0)
        parts = close_modules(boxes, join_nm, rules.alignment_nm)
        closed += [ArrayShape(degrees, part) for part in parts]
    joined = _joined(closed, plane.areas[is_drawn], rules.max_module_gap_nm)
    arrays, shapes = build_arrays(joined, plane.origin)
    return Outline(
        arrays=arrays,
        notes=tuple(_rounding(healed, plane.origin)),
        origin=plane.origin,
        shapes=shapes,
    )


def note_at(kind: NoteKind, width_nm: int, places: Numbers, origin: Spot) -> Note:
    """Return a note with the box around some places of the roof plane."""
    left, lower = np.rint(places.min(axis=0)).astype(int).tolist()
    right, upper = np.rint(places.max(axis=0)).astype(int).tolist()
    x, y = origin
    place = Bounds(left_nm=left + x, lower_nm=lower + y, right_nm=right + x, upper_nm=upper + y)
    return Note(kind=kind, place=place, width_nm=width_nm)


def connected(count: int, one: Sequence[int], other: Sequence[int]) -> list[list[int]]:
    """Return the numbers below `count` in groups that pairs (one, other) connect."""
    beside: list[list[int]] = [[] for _ in range(count)]
    for first, second in zip(one, other, strict=True):
        beside[first].append(second)
        beside[second].append(first)
    groups: list[list[int]] = []
    seen = [False] * count
    for number in range(count):
        if seen[number]:
            continue
        seen[number] = True
        group = [number]
        for member in group:  # the group grows as it is walked
            for each in beside[member]:
                if not seen[each]:
                    seen[each] = True
                    group.append(each)
        groups.append(sorted(group))
    return groups


def _joined(closed: list[ArrayShape], drawn: Polygons, join_nm: int) -> list[ArrayShape]:
    """Return arrays and drawn shapes, those within the join gap of one another joined."""
    if not drawn.size and len({shape.degrees for shape in closed}) <= 1:
        return closed
    shapes = [*closed, *(ArrayShape(0.0, area) for area in drawn)]
    group = np.array([shape.degrees for shape in closed] + [*range(-len(drawn), 0)])
    areas = np.array([in_axes(shape, 0.0) for shape in shapes])
    reach_nm = join_nm + 2 * ROUNDING_NM
    one, other, all_found = near_pairs(areas, reach_nm, MOST_PAIRS)
    join = (group[one] != group[other]) & shapely.dwithin(areas[one], areas[other], reach_nm)
    if not all_found or len({*one[join].tolist(), *other[join].tolist()}) > MOST_MIXED:
        problem = (
            f"Expected at most {MOST_MIXED} drawn shapes and rotated arrays to join; got more."
        )
        raise InvalidRequestError(
            [Fault(path=(), problem=problem, remedy="Split the job into several requests.")]
        )
    joined: list[ArrayShape] = []
    for members in connected(len(shapes), one[join].tolist(), other[join].tolist()):
        if members[-1] < len(closed) and len(members) == 1:
            joined.append(shapes[members[0]])
            continue
        turns = {shapes[at].degrees for at in members if at < len(closed)}
        degrees = turns.pop() if len(turns) == 1 else 0.0
        own = np.array([in_axes(shapes[at], degrees) for at in members])
        parts = close_mixed(own, np.array(members) >= len(closed), join_nm)
        joined += [ArrayShape(degrees, part) for part in parts]
    return joined


def in_axes(shape: ArrayShape, degrees: float) -> shapely.Polygon:
    """Return an array as a polygon in other axes; corners may move by a nanometer."""
    if shape.degrees == degrees:
        return shape.polygon
    roof = shapely.transform(shape.polygon, lambda points: rotated(points, shape.degrees))
    return shapely.transform(roof, lambda points: rotated(points, -degrees))


def _rounding(healed: Sequence[Healed], origin: Spot) -> Iterator[Note]:
    """Yield a note with the depth of what was taken for rounding, and where it is that deep."""
    deepest_nm = max((nm for nm, _ in healed), default=0)
    if deepest_nm > _LEAST_NOTED_NM:
        places = np.concatenate([place for nm, place in healed if nm == deepest_nm])
        yield note_at("overlap_within_rounding", deepest_nm, places, origin)
