"""Arrays that nearly touch, and arrays that touch at a corner only."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from math import isqrt

from service.calc.outline.edges import Rect
from service.calc.outline.overlap import box_of
from service.calc.outline.rings import Place
from service.calc.outline.shape import ArrayOutline, Facing, Note

ArrayPair = tuple[int, ...]
Distance = tuple[ArrayPair, int, Rect]
Tip = tuple[int, int, int]

# Whose corners look for whose, each named by the edge before it, and which way that is.
_SEARCHES = (
    ("right", "left", 1, 1),
    ("left", "right", -1, -1),
    ("eave", "ridge", 1, -1),
    ("ridge", "eave", -1, 1),
)


def near_notes(
    arrays: Sequence[ArrayOutline], straight: Iterable[Distance], near_gap_nm: int
) -> Iterator[Note]:
    """Yield one note for each two arrays less than `near_gap_nm` apart.

    Its place is the box round all places where the two are at their nearest.
    `straight` are distances measured across or up (arrays, distance, place); those from corner
    to corner are looked up here, rounded to whole nanometres. Touching is not near.
    """
    nearest: dict[ArrayPair, tuple[int, Rect]] = {}
    for pair, distance_nm, place in straight:
        _keep(nearest, pair, distance_nm**2, place)
    if near_gap_nm:
        _add_corners(nearest, arrays, near_gap_nm)
    for pair, (square, place) in nearest.items():
        if square < near_gap_nm**2:
            width_nm = rounded_root(square)
            yield Note(kind="arrays_near", place=box_of(place), width_nm=width_nm, arrays=pair)


def touching_notes(arrays: Sequence[ArrayOutline]) -> list[Note]:
    """Return a note for every place where two loops touch at a corner only."""
    first: dict[Place, int] = {}
    notes = []
    for array in arrays:
        for loop in (array.outer, *array.holes):
            for corner in loop.corners:
                place = (corner.point.x_nm, corner.point.y_nm)
                if place in first:
                    pair = tuple(sorted({first[place], array.index}))
                    where = box_of(place + place)
                    notes.append(
                        Note(kind="touching_at_corner", place=where, width_nm=0, arrays=pair)
                    )
                first[place] = array.index
    return notes


def rounded_root(square: int) -> int:
    """Return the square root to the nearest whole number."""
    root = isqrt(square)
    return root + (square - root * root > root)


def _keep(
    nearest: dict[ArrayPair, tuple[int, Rect]], pair: ArrayPair, square: int, place: Rect
) -> None:
    """Keep the least distance of a pair, with the box round all places where it is that near."""
    known, round_it = nearest.get(pair, (square, place))
    if square < known:
        nearest[pair] = (square, place)
    elif square == known:
        nearest[pair] = (square, _round(round_it, place))


def _round(one: Rect, other: Rect) -> Rect:
    """Return the box round both boxes."""
    return (
        min(one[0], other[0]),
        min(one[1], other[1]),
        max(one[2], other[2]),
        max(one[3], other[3]),
    )


def _add_corners(
    nearest: dict[ArrayPair, tuple[int, Rect]], arrays: Sequence[ArrayOutline], reach: int
) -> None:
    """Add the distances from each outside corner to the corners nearest to it."""
    tips = _tips(arrays)
    for own, wanted, right, up in _SEARCHES:
        cells = _cells(_turned_about(tips[wanted], right, up), reach)
        for tip in _turned_about(tips[own], right, up):
            for square, other in _nearest(tip, cells, reach):
                pair = (min(tip[2], other[2]), max(tip[2], other[2]))
                left, far = sorted((tip[0] * right, other[0] * right))
                low, high = sorted((tip[1] * up, other[1] * up))
                _keep(nearest, pair, square, (left, low, far, high))


def _tips(arrays: Sequence[ArrayOutline]) -> dict[str, list[Tip]]:
    """Return the outside corners, all right angles, by the facing of the edge before each.

    On the way round, right comes before an upper right corner, ridge before an upper left one,
    left before a lower left one and eave before a lower right one.
    """
    tips: dict[str, list[Tip]] = defaultdict(list)
    for array in arrays:
        for loop in (array.outer, *array.holes):
            before: Facing = loop.edges[-1].facing
            for corner, edge in zip(loop.corners, loop.edges, strict=True):
                if corner.kind == "outside":
                    tips[before].append((corner.point.x_nm, corner.point.y_nm, array.index))
                before = edge.facing
    return tips


def _turned_about(tips: list[Tip], right: int, up: int) -> list[Tip]:
    """Return the corners with their axes turned about, so that a search looks right and up."""
    return [(x * right, y * up, array) for x, y, array in tips]


def _cells(tips: list[Tip], reach: int) -> dict[Place, list[Tip]]:
    cells: dict[Place, list[Tip]] = defaultdict(list)
    for tip in sorted(tips):
        cells[tip[0] // reach, tip[1] // reach].append(tip)
    return cells


def _nearest(tip: Tip, cells: dict[Place, list[Tip]], reach: int) -> list[tuple[int, Tip]]:
    """Return the nearest corners of other arrays right and up of `tip`, less than `reach` away."""
    x, y, array = tip
    column, row = x // reach, y // reach
    best: list[tuple[int, Tip]] = []
    within = reach * reach - 1
    for cell in ((column, row), (column + 1, row), (column, row + 1), (column + 1, row + 1)):
        others = cells.get(cell, ())
        for index in range(bisect_left(others, (x,)), len(others)):
            other = others[index]
            across, up = other[0] - x, other[1] - y
            if across * across > within:
                break
            square = across * across + up * up
            if up >= 0 and other[2] != array and 0 < square <= within:
                best = best if square == within and best else []
                best.append((square, other))
                within = square
    return best
