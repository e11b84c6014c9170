"""Labels of a plan: pieces next to the channel, sides inside the array, and numbered warnings.

A label takes the first of its positions that is free. If there is none, a number takes its place,
and the label is listed by its number below the plan.
"""

from __future__ import annotations

from cmath import phase, rect
from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import degrees, radians

import msgspec
from msgspec.structs import replace

from gapwright.calc.layout.lay import LaidRun, NamedPiece
from gapwright.calc.layout.runs import path_on
from gapwright.calc.layout.sides import PlacedSide
from gapwright.calc.layout.warnings import condition_text, warnings_of
from gapwright.calc.outline import Spot
from gapwright.drawing import svg
from gapwright.drawing.canvas import Canvas, Occupancy, Segment, segments, unit
from gapwright.drawing.svg import SMALL_PX, TEXT_PX, PagePoint, text_width

ZONE_DEPTH_PX = 9
"""Depth of the pattern that marks a zone along its side."""
_GAPS = (16.0, 22.0, 40.0, 64.0)
"""How far from the channel a label begins [px]."""
_MAX_GAP_PX = 30
"""A label further away has a leader."""
_LEADER_START_PX = 9.5
_PIECE_SHARES = (0.5, 0.3, 0.7)
_SIDE_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75)
_NUMBER_SHARES = (0.5, 0.3, 0.7, 0.1, 0.9)
_NUMBER_GAPS = (6.0, 14.0, 24.0, 34.0, 46.0)
_DISC_PX = 10.0
_MAX_DISCS = 60


class Numbered(msgspec.Struct, frozen=True, kw_only=True):
    """What is listed below the plan: a warning, names, or a dimension.

    `number` is 0 where the name alone is on the plan, and the text adds its length.
    """

    number: int
    text: str
    is_warning: bool = False


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """Text of a CSS class at a center, its rotation [degrees], and the line that leads to it."""

    text: str
    kind: str
    center: PagePoint = 0j
    rotation: float = 0
    leader: Segment | None = None

    @property
    def size(self) -> float:
        """Return the height of the font [px]."""
        return SMALL_PX if "small" in self.kind else TEXT_PX

    @property
    def width(self) -> float:
        """Return the width of the text [px]."""
        return text_width(self.text, self.size, bold="b" in self.kind.split()) + 4

    def place(self, occupancy: Occupancy) -> bool:
        """Occupy the label and its leader if they are free, and return whether they were."""
        half = self.size * 0.62
        along = rect(max(self.width / 2 - half, 0), radians(self.rotation))
        lines = [((self.center - along, self.center + along), half)]
        lines += [(self.leader, 1.0)] if self.leader else []
        free = all(occupancy.is_free(*line) for line in lines)
        for line in lines if free else ():
            occupancy.occupy(*line)
        return free

    def beside(self, point: PagePoint, outward: PagePoint, gap: float) -> Label:
        """Return the label unrotated, its box `gap` away from a point."""
        reach = abs(outward.real) * (self.width / 2 - 2) + abs(outward.imag) * self.size * 0.6
        leader = (point + outward * _LEADER_START_PX, point + outward * (gap - 2))
        center = point + outward * (gap + reach)
        return replace(self, center=center, leader=leader if gap > _MAX_GAP_PX else None)

    def draw(self) -> str:
        """Return the text on a background, since modules and rails may lie under it."""
        width, height = self.width, self.size * 1.3
        ground = "paper" if self.kind in ("t b", "q") else "inner"
        background = svg.element(
            "rect", class_=ground, x=-width / 2, y=-height / 2, width=width, height=height
        )
        text = svg.text(self.text, 0.36j * self.size, self.kind, anchor="middle")
        return svg.translate(self.center, background + text, self.rotation)


_Wanted = tuple[str, Sequence[Segment], Iterator[Label]]
"""The text of a label, the lines that it names, and its positions in order of preference."""


def draw_labels(canvas: Canvas, first_number: int) -> tuple[list[str], list[Numbered]]:
    """Return the labels of pieces and sides, and the list of those that only have a number."""
    runs, sides = canvas.laid.runs, canvas.laid.sides
    several = len({side.strip for side in sides if side.strip}) > 1
    wanted = {
        "pieces": [_piece(run, piece, canvas) for run in runs for piece in run.pieces],
        "sides": [_side(placed, canvas, several) for placed in sides],
    }
    groups, missing, shortened = [], [], list[str]()
    for name, labels in wanted.items():
        placed = []
        for text, lines, candidates in labels:
            found = _place_first(candidates, canvas.occupancy)
            placed += [found] if found else []
            missing += [] if found else [(text, lines)]
            shortened += [text] if found and found.text != text else []
        groups.append(_group(f"Names of {name}", placed))
    numbers, listed = _number(missing, canvas.occupancy, first_number)
    listed += [Numbered(number=0, text=text) for text in shortened]
    return [_group("Numbers of names", numbers), *groups], listed


def _place_first(labels: Iterator[Label], occupancy: Occupancy) -> Label | None:
    """Return the first label that is free, which is then occupied; None if none is found."""
    for label in labels:
        if occupancy.is_exhausted:
            break
        if label.place(occupancy):
            return label
    return None


def _number(
    missing: Sequence[tuple[str, Sequence[Segment]]], occupancy: Occupancy, first_number: int
) -> tuple[list[Label], list[Numbered]]:
    """Return a number for each text next to its lines; where none is free, it shares the last."""
    occupancy.queries = 0
    numbers: list[Label] = []
    texts: list[str] = []
    for text, lines in missing:
        label = Label(text=str(first_number + len(numbers)), kind="b small")
        positions = _beside(label, lines[:1], _NUMBER_SHARES, _NUMBER_GAPS, (-1j, 1j))
        found = _place_first(positions, occupancy)
        if found or not numbers:
            numbers.append(found or replace(label, center=lines[0][0]))
            texts.append(text)
        else:
            texts[-1] += f"; {text}"
    return numbers, [Numbered(number=n, text=text) for n, text in enumerate(texts, first_number)]


def _group(name: str, labels: Sequence[Label]) -> str:
    leaders = svg.path("line", svg.polylines(label.leader for label in labels if label.leader))
    return svg.group(name, leaders, *(label.draw() for label in labels))


def piece_line(run: LaidRun, named: NamedPiece, canvas: Canvas) -> list[PagePoint]:
    """Return the line of a piece along its sides on the page."""
    return canvas.line(path_on(run.placed, named.piece.start_nm, named.piece.covered_nm))


def _piece(run: LaidRun, named: NamedPiece, canvas: Canvas) -> _Wanted:
    """Return the label of a piece next to its two longest parts, outside the array if possible.

    It has the cut length, unless that is the standard length.
    """
    parts = segments(piece_line(run, named, canvas))
    longest = sorted(parts, key=lambda part: -abs(part[1] - part[0]))[:2]
    standard = named.piece.cut_nm == canvas.rules.values.piece_length
    length = "" if standard else f": {canvas.length_text(named.piece.cut_nm)}"
    text = named.name + length
    candidates = (
        label
        for label in (Label(text=text, kind="t b"), Label(text=named.name, kind="t b"))
        for label in _beside(label, longest, _PIECE_SHARES, _GAPS, (1j, -1j))
    )
    return text, longest, candidates


def _side(placed: PlacedSide, canvas: Canvas, several: bool) -> _Wanted:
    """Return the label of a side, along it or else beside it; with its strip if `several`."""
    strip = f", strip {placed.strip}" if several and placed.strip else ""
    length = canvas.length_text(placed.length_nm)
    full = f"{placed.name}: {length}{', left open' if placed.open else strip}"
    line = canvas.side(placed)
    gap = 16 if placed.zone == "standard" or placed.open else 16 + ZONE_DEPTH_PX + 4

    def candidates() -> Iterator[Label]:
        for text in (full, placed.name):
            label = Label(text=text, kind="t q", rotation=_readable_rotation(line))
            if label.width <= abs(line[1] - line[0]) - 12:
                for away in (gap, gap + 15, gap + 32):
                    for point in _points(line, _SIDE_SHARES):
                        yield replace(label, center=point - unit(line) * 1j * away)
            unrotated = replace(label, rotation=0)
            yield from _beside(unrotated, [line], (0.5,), (gap - 6,), (-1j,))
            outside = replace(unrotated, kind="q")
            yield from _beside(outside, [line], _SIDE_SHARES, (32, 46), (1j,))

    return full, [line], candidates()


def _beside(
    label: Label,
    lines: Sequence[Segment],
    shares: Sequence[float],
    gaps: Sequence[float],
    across: Sequence[PagePoint],
) -> Iterator[Label]:
    """Yield a label at growing gaps from some lines: 1j is outside the array, -1j inside."""
    for turn in across:
        for gap in gaps:
            for line in lines:
                for point in _points(line, shares):
                    yield label.beside(point, unit(line) * turn, gap)


def _points(line: Segment, shares: Sequence[float]) -> list[PagePoint]:
    return [line[0] + (line[1] - line[0]) * share for share in shares]


def _readable_rotation(line: Segment) -> float:
    """Return the rotation of text along a line that reads from below or from the right."""
    angle = degrees(phase(line[1] - line[0]))
    return angle - 180 if angle >= 89.9 else angle + 180 if angle < -90.1 else angle


def draw_warnings(canvas: Canvas) -> tuple[str, list[Numbered]]:
    """Return numbered discs at the warnings of a plane, and the list of them, alike ones once."""
    texts: dict[str, list[Spot]] = defaultdict(list)
    for warning in warnings_of(canvas.laid, canvas.rules.values):
        text = condition_text(warning).text(canvas.scale.system)
        texts[text] += [warning.place] if warning.place else []
    around = [
        0,
        *(away * rect(1, radians(turn)) for away in (22, 36, 52) for turn in range(0, 360, 45)),
    ]
    discs, listed = [], []
    for number, (text, places) in enumerate(texts.items(), 1):
        for point in canvas.nearby(places)[:_MAX_DISCS]:
            free = (by for by in around if canvas.occupancy.is_free([point + by], _DISC_PX))
            at = point + next(free, 0)
            canvas.occupancy.occupy([at], _DISC_PX)
            discs.append(disc(at, number))
        times = f" ({len(places)} places)" if len(places) > 1 else ""
        listed.append(Numbered(number=number, text=text + times, is_warning=True))
    return svg.group("Callouts", *discs), listed


def disc(at: PagePoint, number: int) -> str:
    """Return the numbered disc of a warning, dark enough to stand out in gray."""
    digits = svg.text(str(number), at + 4.3j, "number b", anchor="middle")
    return svg.circle("badge", at, 9) + digits
