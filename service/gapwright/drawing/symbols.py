"""Symbols that are both on a plan and in its legend, drawn at a size of 1 in the legend."""

from __future__ import annotations

from collections.abc import Sequence

from gapwright.drawing import svg
from gapwright.drawing.geometry import box_around, move
from gapwright.drawing.svg import Point


def tab(point: Point, out: Point, up: Point, size: float) -> list[Point]:
    """Return the corners of a tab's flag: it sticks out of the side, on one side of the rail."""
    tall = 12 * size
    near, far = move(point, up, 1.5 * size), move(point, up, tall - 1)
    return [near, move(near, out, tall), move(far, out, tall * 0.55), far]


def corner(point: Point, size: float, *, inside: bool) -> str:
    """Return the path data of a corner: a square outside, a diamond inside."""
    x, y = point
    left, top, right, bottom = box_around(point, (6.5 if inside else 4.5) * size)
    square = [(left, top), (right, top), (right, bottom), (left, bottom)]
    diamond = [(x, top), (right, y), (x, bottom), (left, y)]
    return svg.polyline(diamond if inside else square, closed=True)


def cut_out(point: Point, size: float) -> str:
    """Return the ring where the channel is cut out for a penetration."""
    return svg.circle("cut", point, 7 * size)


def overlaps(data: str, size: float) -> str:
    """Return overlaps along a path: strokes across it on a background of paper."""
    background = svg.path("under", data, stroke_width=15 * size)
    return background + svg.path("overlap", data, stroke_width=13 * size)


def start_arrow(point: Point, ahead: Point, inward: Point, size: float) -> list[Point]:
    """Return the points of an arrow next to the side: foot, tail, tip and two barbs."""
    foot, tail = move(point, inward, 8 * size), move(point, inward, 17 * size)
    tip = move(tail, ahead, 24 * size)
    back = move(tip, ahead, -7 * size)
    return [foot, tail, tip, move(back, inward, 4 * size), move(back, inward, -4 * size)]


def arrow_data(arrow: Sequence[Point]) -> str:
    """Return the path data of an arrow: up to its tip, and its barbs."""
    return svg.polyline(arrow[:3]) + svg.polyline([arrow[3], arrow[2], arrow[4]])


def callout(point: Point, value: int) -> str:
    """Return a numbered disc, dark enough to stand out in gray."""
    x, y = point
    digits = svg.text(str(value), (x, y + 4.3), "number b", anchor="middle")
    return svg.circle("badge", point, 9) + digits
