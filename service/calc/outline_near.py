"""Arrays that nearly touch, and arrays that touch at a corner only."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from math import isqrt

from .outline_edges import Rect
from .outline_overlap import box_of
from .outline_rings import Place
from .outline_shape import ArrayOutline, Facing, Note

ArrayPair = tuple[int, ...]
Distance = tuple[ArrayPair, int, Rect]
Tip = tuple[int, int, int]


def near_notes(
    arrays: Sequence[ArrayOutline], straight: Iterable[Distance], near_gap_nm: int
) -> Iterator[Note]:
    """Yield one note for each two arrays less than `near_gap_nm` apart, at their nearest place.

    `straight` are distances measured across or up (arrays, distance, place); those from corner
    to corner are looked up here, rounded to whole nanometres. Touching is not near.
    """
    nearest: dict[ArrayPair, tuple[int, Rect]] = {}
    for pair, distance_nm, place in straight:
        _keep(nearest, pair, (distance_nm**2, place))
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
    nearest: dict[ArrayPair, tuple[int, Rect]], pair: ArrayPair, found: tuple[int, Rect]
) -> None:
    known = nearest.get(pair)
    if known is None or found < known:
        nearest[pair] = found


def _add_corners(
    nearest: dict[ArrayPair, tuple[int, Rect]], arrays: Sequence[ArrayOutline], reach: int
) -> None:
    """Add the distances from corner to corner: upper right to lower left, then the other way.

    The other way, lower right to upper left, is the same turned upside down.
    """
    tips = _tips(arrays)
    for sign, ahead, beyond in ((1, "right", "left"), (-1, "eave", "ridge")):
        cells = _cells(_mirrored(tips[beyond], sign), reach)
        for tip in _mirrored(tips[ahead], sign):
            square, other = _nearest(tip, cells, reach)
            if other:
                low, high = sorted((tip[1] * sign, other[1] * sign))
                pair = (min(tip[2], other[2]), max(tip[2], other[2]))
                _keep(nearest, pair, (square, (tip[0], low, other[0], high)))


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


def _mirrored(tips: list[Tip], sign: int) -> list[Tip]:
    return [(x, y * sign, array) for x, y, array in tips]


def _cells(tips: list[Tip], reach: int) -> dict[Place, list[Tip]]:
    cells: dict[Place, list[Tip]] = defaultdict(list)
    for tip in sorted(tips):
        cells[tip[0] // reach, tip[1] // reach].append(tip)
    return cells


def _nearest(tip: Tip, cells: dict[Place, list[Tip]], reach: int) -> tuple[int, Tip | None]:
    """Return the nearest corner of another array beyond `tip`, less than `reach` away."""
    x, y, array = tip
    column, row = x // reach, y // reach
    best, within = None, reach * reach
    for cell in ((column, row), (column + 1, row), (column, row + 1), (column + 1, row + 1)):
        others = cells.get(cell)
        for other in others[bisect_left(others, (x,)) :] if others else ():
            across, up = other[0] - x, other[1] - y
            if across * across >= within:
                break
            square = across * across + up * up
            if up >= 0 and other[2] != array and 0 < square < within:
                best, within = other, square
    return within, best
