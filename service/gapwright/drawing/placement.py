"""Place labels on the page: a label takes the first free of its positions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import cos, radians, sin

import msgspec

from gapwright.drawing import svg
from gapwright.drawing.geometry import Box, Segment, boxes_along
from gapwright.drawing.svg import TEXT_PX, Point, text_width

_CELL_PX = 40.0


class Occupancy:
    """The boxes that are occupied on the page, by the cells of a grid that they touch.

    Queries are counted, so that a crowded sheet takes bounded work, by no clock: the same job is
    always drawn alike.
    """

    MAX_QUERIES = 20_000

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Box]] = {}
        self._queries = 0
        self.extent: Box = (0.0, 0.0, 0.0, 0.0)
        """The box around everything occupied."""

    def occupy(self, boxes: Iterable[Box]) -> None:
        """Add boxes."""
        for box in boxes:
            self.reserve(box)
            left, top, right, bottom = self.extent
            a, b, c, d = box
            self.extent = min(left, a), min(top, b), max(right, c), max(bottom, d)

    def reserve(self, box: Box) -> None:
        """Keep a box free for later; it does not count in the extent."""
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append(box)

    def is_free(self, boxes: Iterable[Box]) -> bool:
        """Return whether none of the boxes overlaps one that is occupied."""
        self._queries += 1
        return not any(map(self._is_hit, boxes))

    @property
    def is_exhausted(self) -> bool:
        """Return whether nothing more is to be tried."""
        return self._queries > self.MAX_QUERIES

    def _is_hit(self, box: Box) -> bool:
        left, top, right, bottom = box
        return any(
            a < right and left < c and b < bottom and top < d
            for cell in _cells(box)
            for a, b, c, d in self._cells.get(cell, ())
        )


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    left, top, right, bottom = (int(side // _CELL_PX) for side in box)
    return ((x, y) for x in range(left, right + 1) for y in range(top, bottom + 1))


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """Text at a position: its center, its rotation [degrees], and the line that leads to it.

    `plain` follows the text unbolded, `kind` is its CSS class. `on_array` gives it a background,
    since modules and rails lie under it.
    """

    text: str
    kind: str
    center: Point
    plain: str = ""
    rotation: float = 0
    leader: Segment | None = None
    on_array: bool = False

    @property
    def width(self) -> float:
        """Return the width of the text [px]."""
        bold = self.kind.endswith("b")
        return text_width(self.text, bold=bold) + text_width(self.plain) + 4

    def boxes(self) -> Iterator[Box]:
        """Yield the boxes that the label covers, those of its leader last."""
        (x, y), half_width, half_height = self.center, self.width / 2, TEXT_PX * 0.62
        if self.rotation:
            angle = radians(self.rotation)
            dx, dy = cos(angle) * half_width, sin(angle) * half_width
            yield from boxes_along([(x - dx, y - dy), (x + dx, y + dy)], half_height)
        else:
            yield x - half_width, y - half_height, x + half_width, y + half_height
        if self.leader:
            yield from boxes_along(self.leader, 1.0)


def place(labels: Iterable[Label], occupancy: Occupancy) -> Label | None:
    """Return the first label that is free, which is then occupied; None if none is."""
    for label in labels:
        if occupancy.is_exhausted:
            break
        if occupancy.is_free(label.boxes()):
            occupancy.occupy(label.boxes())
            return label
    return None


def draw_labels(name: str, labels: Sequence[Label]) -> str:
    """Return labels as a named group, their leaders lowest."""
    leaders = svg.path("line", svg.polylines(label.leader for label in labels if label.leader))
    return svg.group(name, leaders, *map(_draw, labels))


def _draw(label: Label) -> str:
    width, height = label.width, TEXT_PX * 1.3
    box = {"x": -width / 2, "y": -height / 2, "width": width, "height": height}
    background = svg.element("rect", class_="inner", **box, rx=2) if label.on_array else ""
    at = (0, 0.36 * TEXT_PX)
    text = svg.text(label.text, at, label.kind, anchor="middle", plain=label.plain)
    return svg.translate(*label.center, background + text, label.rotation)
