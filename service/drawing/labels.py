"""What a plan is labeled with: pieces beside the channel outside the array, edges inside it.

Where there is no room, labels move further away with a leader, and then some are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import atan2, degrees

import msgspec

from service.calc.layout.edges import PlacedEdge
from service.drawing.canvas import Canvas
from service.drawing.channel import DrawnPiece, DrawnRun
from service.drawing.geometry import Segment, inward, length, move, outward, point_at, segments
from service.drawing.placement import Label, Occupancy, Position, place
from service.drawing.svg import TEXT_PX, Point, text_width
from service.drawing.symbols import ZONE_DEPTH_PX

_Gap = tuple[float, bool]
"""How far from the channel a label begins [px], and whether a leader leads to it."""
_NEAR: tuple[_Gap, ...] = ((16.0, False), (22.0, False))
_FAR: tuple[_Gap, ...] = (*_NEAR, (32.0, True), (48.0, True), (64.0, True))
_INSIDE: tuple[_Gap, ...] = ((16.0, False), (34.0, True))
_PIECE_SHARES = (0.5, 0.36, 0.64, 0.2, 0.8)
_INSIDE_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75)
_OUTSIDE_SHARES = (*_INSIDE_SHARES, 0.46, 0.54, 0.38, 0.62)
_MIN_EDGE_PX = 9.0
"""A shorter edge gets no label: nobody could see which edge is meant."""
_LEADER_START_PX = 9.5


class _Style(msgspec.Struct, frozen=True):
    """A way to label the pieces of a run, all alike: one in every `step`, with cut lengths or not.

    `outside` and `inside` are the gaps tried on either side of the channel.
    """

    step: int
    with_lengths: bool
    outside: Sequence[_Gap]
    inside: Sequence[_Gap] = ()


_STYLES = (
    _Style(1, True, _NEAR),
    _Style(1, False, _NEAR),
    _Style(1, False, _FAR),
    *(_Style(step, False, _FAR, _INSIDE) for step in (1, 2, 5, 10, 20, 50)),
)
"""Best first."""


class PieceLabels(msgspec.Struct, frozen=True, kw_only=True):
    """The labels of a run's pieces: one in every `step`, with cut lengths or not.

    `step` is 0 if there is no room for any; then only the run is labeled, if it has room. `count`
    is the number of all pieces.
    """

    run: str
    count: int
    step: int
    with_lengths: bool
    labels: Sequence[Label]


def label_pieces(run: DrawnRun, occupancy: Occupancy) -> PieceLabels:
    """Return labels of as many pieces of a run as there is room for, evenly spread."""
    for style in _STYLES:
        chosen = [p for n, p in enumerate(run.pieces, 1) if n == 1 or n % style.step == 0]
        count = occupancy.count()
        labels = _label_all(run, chosen, style, occupancy)
        if labels is not None:
            step, with_lengths = style.step, style.with_lengths
            break
        occupancy.roll_back(count)
    else:
        left, top, right, bottom = run.box
        middle = Position(center=((left + right) / 2, (top + bottom) / 2), on_array=True)
        label = place(run.name, [middle], occupancy, "t b")
        labels, step, with_lengths = [label] if label else [], 0, False
    return PieceLabels(
        run=run.name,
        count=len(run.pieces),
        step=step,
        with_lengths=with_lengths,
        labels=labels,
    )


def _label_all(
    run: DrawnRun, pieces: Sequence[DrawnPiece], style: _Style, occupancy: Occupancy
) -> list[Label] | None:
    """Return a label for each of the pieces; None as soon as one finds no room."""
    labels = []
    for piece in pieces:
        plain = f" {piece.cut_length}" if style.with_lengths else ""
        positions = _piece_positions(run, piece, piece.name + plain, style)
        label = place(piece.name, positions, occupancy, "t b", plain)
        if label is None:
            return None
        labels.append(label)
    return labels


def _piece_positions(
    run: DrawnRun, piece: DrawnPiece, text: str, style: _Style
) -> Iterator[Position]:
    """Yield the positions of a piece's label, outside first: beside its two longest parts."""
    parts = sorted(segments(piece.line), key=length, reverse=True)[:2]
    for inside, gaps in ((False, style.outside), (True, style.inside)):
        # inside a loop of channel there is only so much room: a hole's outside, an array's inside
        enclosed = inside != run.is_hole
        normals = [(part, inward(part) if inside else outward(part)) for part in parts]
        for gap, has_leader in gaps:
            if enclosed and gap >= run.depth:
                continue
            for part, normal in normals:
                for share in _PIECE_SHARES:
                    point = point_at(part, share)
                    yield Position(
                        center=_beside(point, normal, gap, text),
                        leader=_leader(point, normal, gap) if has_leader else None,
                        on_array=inside,
                    )


def label_edges(canvas: Canvas) -> tuple[list[Label], int]:
    """Return a label for each edge that has room for one, and how many have none.

    Where there are several strips, the label says which the edge takes.
    """
    edges = canvas.laid.edges
    several = len({placed.strip for placed in edges if placed.strip}) > 1
    labels = [_label_edge(placed, canvas, several) for placed in edges]
    found = [label for label in labels if label]
    return found, len(labels) - len(found)


def _label_edge(placed: PlacedEdge, canvas: Canvas, several: bool) -> Label | None:
    line, name = canvas.edge(placed), placed.name
    if length(line) < _MIN_EDGE_PX:
        return None
    strip = f", strip {placed.strip}" if several and placed.strip else ""
    state = ", left open" if placed.open else strip
    full = f"{name}: {canvas.length_text(placed.edge.length_nm)}{state}"
    gap = 16 if placed.zone == "standard" or placed.open else 16 + ZONE_DEPTH_PX + 4
    for text, positions in (
        (full, _positions_inside(line, full, gap)),
        (name, _positions_inside(line, name, gap)),
        (full, _positions_outside(line, full)),
        (name, _positions_outside(line, name)),
    ):
        if label := place(text, positions, canvas.occupancy, "t q"):
            return label
    return None


def _positions_inside(line: Segment, text: str, gap: float) -> Iterator[Position]:
    """Yield positions inside the array: along the edge, or unrotated where it is too short."""
    normal = inward(line)
    if text_width(text) <= length(line) - 16:
        rotation = _readable_rotation(line)
        for away in (gap, gap + 15, gap + 32):
            for share in _INSIDE_SHARES:
                center = move(point_at(line, share), normal, away)
                yield Position(center=center, rotation=rotation, on_array=True)
    yield Position(center=_beside(point_at(line, 0.5), normal, gap - 6, text), on_array=True)


def _positions_outside(line: Segment, text: str) -> Iterator[Position]:
    normal = outward(line)
    for gap in (30, 46):
        for share in _OUTSIDE_SHARES:
            point = point_at(line, share)
            center = _beside(point, normal, gap, text)
            yield Position(center=center, leader=_leader(point, normal, gap))


def _readable_rotation(line: Segment) -> float:
    """Return the rotation of text along a line that reads from below or from the right."""
    (ax, ay), (bx, by) = line
    angle = degrees(atan2(by - ay, bx - ax))
    if angle >= 89.9:
        angle -= 180
    elif angle < -90.1:
        angle += 180
    return 0 if abs(angle) < 0.05 else angle


def _beside(point: Point, normal: Point, gap: float, text: str) -> Point:
    """Return the center of unrotated text whose box begins `gap` away from a point."""
    half_width, half_height = text_width(text) / 2, TEXT_PX * 0.6
    return move(point, normal, gap + abs(normal[0]) * half_width + abs(normal[1]) * half_height)


def _leader(point: Point, normal: Point, gap: float) -> Segment:
    return move(point, normal, _LEADER_START_PX), move(point, normal, gap - 2)
