"""Arrays that nearly touch, and arrays that touch at a corner only."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from math import isqrt
from typing import NamedTuple

from .outline_edges import Rect
from .outline_overlap import box_of
from .outline_rings import Place
from .outline_shape import ArrayOutline, Corner, Loop, Note

Distance = tuple[tuple[int, ...], int, Rect]


class Tip(NamedTuple):
    """An outside corner of an array, its y counted so that the pairs below look up."""

    x: int
    y: int
    array: int


def near_notes(
    arrays: Sequence[ArrayOutline], straight: Iterable[Distance], near_gap_nm: int
) -> Iterator[Note]:
    """Yield one note for each two arrays less than `near_gap_nm` apart, at their nearest place.

    `straight` are distances measured across or up (arrays, distance, place); those from corner
    to corner are looked up here, rounded to whole nanometres. Touching is not near.
    """
    nearest: dict[tuple[int, ...], tuple[int, Rect]] = {}
    for pair, distance_nm, place in straight:
        _keep(nearest, pair, distance_nm**2, place)
    for sign in (1, -1):
        for lower, upper in _facing_tips(arrays, sign, near_gap_nm):
            pair = tuple(sorted((lower.array, upper.array)))
            square = (upper.x - lower.x) ** 2 + (upper.y - lower.y) ** 2
            low, high = sorted((lower.y * sign, upper.y * sign))
            _keep(nearest, pair, square, (lower.x, low, upper.x, high))
    for pair, (square, place) in nearest.items():
        if square < near_gap_nm**2:
            yield Note(
                kind="arrays_near", place=box_of(place), width_nm=rounded_root(square), arrays=pair
            )


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
    nearest: dict[tuple[int, ...], tuple[int, Rect]],
    pair: tuple[int, ...],
    square: int,
    place: Rect,
) -> None:
    found = (square, place)
    nearest[pair] = min(nearest.get(pair, found), found)


def _facing_tips(
    arrays: Sequence[ArrayOutline], sign: int, reach: int
) -> Iterator[tuple[Tip, Tip]]:
    """Yield each upper right corner with the nearest lower left corner beyond it.

    A negative sign looks down instead of up: lower right with upper left.
    """
    if reach == 0:
        return
    cells: dict[tuple[int, int], list[Tip]] = defaultdict(list)
    for tip in _tips(arrays, sign, ahead=False):
        cells[tip.x // reach, tip.y // reach].append(tip)
    for tips in cells.values():
        tips.sort()
    for tip in _tips(arrays, sign, ahead=True):
        nearest = _nearest(tip, cells, reach)
        if nearest:
            yield tip, nearest


def _nearest(tip: Tip, cells: dict[tuple[int, int], list[Tip]], reach: int) -> Tip | None:
    best, within = None, reach * reach
    column, row = tip.x // reach, tip.y // reach
    for cell in ((column, row), (column + 1, row), (column, row + 1), (column + 1, row + 1)):
        tips = cells.get(cell, ())
        for index in range(bisect_left(tips, (tip.x,)), len(tips)):
            other = tips[index]
            across, up = other.x - tip.x, other.y - tip.y
            if across * across >= within:
                break
            square = across * across + up * up
            if up >= 0 and other.array != tip.array and 0 < square < within:
                best, within = other, square
    return best


def _tips(arrays: Sequence[ArrayOutline], sign: int, *, ahead: bool) -> Iterator[Tip]:
    """Yield the outside corners that point right and up (ahead) or left and down.

    With a negative sign: right and down, or left and up.
    """
    for array in arrays:
        for loop in (array.outer, *array.holes):
            for corner, points_right, points_up in _outside(loop):
                if points_right == ahead and points_up == (ahead == (sign > 0)):
                    yield Tip(corner.point.x_nm, corner.point.y_nm * sign, array.index)


def _outside(loop: Loop) -> Iterator[tuple[Corner, bool, bool]]:
    """Yield each outside corner, all right angles: does it point right, does it point up?"""
    before = loop.edges[-1].facing
    for corner, edge in zip(loop.corners, loop.edges, strict=True):
        sides = {before, edge.facing}
        if corner.kind == "outside":
            yield corner, "right" in sides, "ridge" in sides
        before = edge.facing
