"""Shapes that overlap or join, found in one look at those near one another."""

from __future__ import annotations

from itertools import pairwise
from math import dist
from typing import NamedTuple

import numpy as np
import shapely

from gapwright.calc.outline.closing import Numbers
from gapwright.calc.outline.nearness import Indices, near_pairs
from gapwright.calc.outline.read import PlaneShapes
from gapwright.calc.outline.shape import ROUNDING_NM, GapRules, Path
from gapwright.errors import Fault, InvalidRequestError

MOST_PAIRS = 150_000
MOST_FAULTS = 100
MOST_SIDES = 8_000
_STOPPED = Fault(
    path=(),
    problem=f"Only the first {MOST_FAULTS} overlaps are listed.",
    remedy="Check for duplicate modules.",
)
Healed = tuple[int, Numbers]
"""How deep something taken for rounding is [nm], and its corners on the roof plane."""


class OverlapFault(Fault, frozen=True, kw_only=True):
    """Two shapes over one another: the other one, and how wide and high what both cover is [nm].

    Where that is slanted, `across_nm` is its longer side and `up_nm` its shorter one.
    """

    other: Path
    across_nm: int
    up_nm: int


class Pairs(NamedTuple):
    """The later and the earlier of shapes that join, overlaps taken for rounding, and faults."""

    later: Indices
    earlier: Indices
    healed: list[Healed]
    faults: list[Fault]


def find_pairs(plane: PlaneShapes, rules: GapRules) -> Pairs:
    """Return the modules that join, and shapes of any kind that overlap.

    Two modules with the same axes join where they face each other across a gap up to the join
    gap, over more than what is taken for rounding; diagonal ones, or those that meet only at a
    corner, do not.
    Errors: InvalidRequestError where more than MOST_PAIRS shapes are near one another, or more than
    MOST_SIDES sides of modules face open roof.
    """
    later, earlier, all_found = near_pairs(plane.areas, rules.max_module_gap_nm, MOST_PAIRS)
    alike = plane.degrees[later] == plane.degrees[earlier]
    boxes = plane.boxes
    gaps = np.maximum(boxes[later, :2], boxes[earlier, :2])
    gaps -= np.minimum(boxes[later, 2:], boxes[earlier, 2:])
    over = alike & (gaps.max(axis=1) < 0)
    over[~alike] = shapely.intersects(plane.areas[later[~alike]], plane.areas[earlier[~alike]])
    healed, faults = _overlaps(plane, later[over], earlier[over], -gaps[over], rules.tolerance_nm)
    if faults:
        return Pairs(later[:0], earlier[:0], healed, faults)
    if not all_found:
        problem = f"Expected at most {MOST_PAIRS} pairs of shapes near each other; got more."
        raise InvalidRequestError(
            [Fault(path=(), problem=problem, remedy="Split the job into several requests.")]
        )
    join_nm = rules.max_module_gap_nm + np.where(plane.degrees[later] != 0, 2 * ROUNDING_NM, 0)
    facing = alike & (gaps.max(axis=1) <= join_nm) & (gaps.min(axis=1) < -rules.alignment_nm)
    later, earlier = later[facing], earlier[facing]
    _refuse_too_many_sides(boxes, later, earlier, gaps[facing], rules.max_module_gap_nm)
    return Pairs(later, earlier, healed, faults)


def _refuse_too_many_sides(
    boxes: Numbers, later: Indices, earlier: Indices, gaps: Numbers, join_nm: int
) -> None:
    """Raise InvalidRequestError if modules have more sides on outlines than are closed at once."""
    covered = np.zeros((len(boxes), 4))  # left, lower, right, upper
    axis = gaps.argmax(axis=1)
    length = -gaps.min(axis=1) + join_nm
    pair = np.arange(len(axis))
    above = boxes[later, axis] > boxes[earlier, axis]
    for one, is_above in ((later, above), (earlier, ~above)):
        np.add.at(covered, (one[pair], np.where(is_above, axis, axis + 2)), length)
    sizes = np.tile(boxes[:, 2:] - boxes[:, :2], 2)[:, [1, 0, 3, 2]]
    if (count := int((covered < sizes).sum())) > MOST_SIDES:
        problem = (
            f"Expected at most {MOST_SIDES} sides of modules along outlines; got about {count}."
        )
        remedy = "Split the job into several requests."
        raise InvalidRequestError([Fault(path=("modules",), problem=problem, remedy=remedy)])


def _overlaps(
    plane: PlaneShapes, later: Indices, earlier: Indices, sides: Numbers, tolerance_nm: int
) -> tuple[list[Healed], list[Fault]]:
    """Return overlaps up to the tolerance, and faults for the others, the first MOST_FAULTS."""
    healed: list[Healed] = []
    faults: list[Fault] = []
    for first, second, box_sides in zip(later.tolist(), earlier.tolist(), sides, strict=True):
        degrees = plane.degrees[first]
        if degrees == plane.degrees[second]:
            across, up = round(box_sides[0]), round(box_sides[1])
            size = (across, up) if not degrees else (max(across, up), min(across, up))
        else:
            common = shapely.intersection(plane.areas[first], plane.areas[second])
            if not common.area:
                continue
            size = _sides(common)
        if min(size) <= tolerance_nm:
            both = shapely.bounds(plane.areas[[first, second]])
            healed.append((min(size), np.array([both[:, :2].max(axis=0), both[:, 2:].min(axis=0)])))
        elif len(faults) == MOST_FAULTS:
            faults.append(_STOPPED)
            break
        else:
            faults.append(_fault(plane.paths[first], plane.paths[second], size))
    return healed, faults


def _sides(common: shapely.Geometry) -> tuple[int, int]:
    """Return the sides of the smallest box around what two shapes both cover, the longer first.

    Where it is an upright box, that is its width and height.
    """
    left, lower, right, upper = common.bounds
    if np.isclose((right - left) * (upper - lower), common.area, rtol=1e-9):
        return round(right - left), round(upper - lower)
    corners = shapely.get_coordinates(shapely.oriented_envelope(common))[:3]
    sides = sorted(max(1, round(dist(*side))) for side in pairwise(corners))
    return sides[1], sides[0]


def _fault(later: Path, earlier: Path, sides: tuple[int, int]) -> OverlapFault:
    return OverlapFault(
        path=later,
        problem=f"It overlaps {'/'.join(str(step) for step in earlier)}.",
        remedy="Move one of them or correct its size. Modules may touch.",
        other=earlier,
        across_nm=sides[0],
        up_nm=sides[1],
    )
