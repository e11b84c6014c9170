"""What a plan is labeled with: pieces beside the channel outside the array, edges inside it.

Where there is no room, labels move further away with a leader. What fits nowhere is listed in
words below the plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import chain, groupby
from math import atan2, degrees

from service.calc.layout.edges import PlacedEdge
from service.calc.layout.lay import LaidRun, NamedPiece
from service.drawing.canvas import Canvas
from service.drawing.channel import piece_line
from service.drawing.geometry import Segment, inward, length, move, outward, point_at, segments
from service.drawing.placement import Label, Position, place
from service.drawing.svg import TEXT_PX, Point, text_width

ZONE_DEPTH_PX = 9
"""How deep the pattern is that marks a zone along its edge."""
_NEAR_GAPS = (16.0, 22.0)
_FAR_GAPS = (16.0, 22.0, 40.0, 64.0)
"""How far from the channel the label of a piece begins [px]; beyond 30 px a leader leads to it."""
_MAX_RATIO_WITH_LENGTHS = 96
_MAX_LISTED = 30
_PIECE_SHARES = (0.5, 0.3, 0.7)
_EDGE_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75, 0.46, 0.54, 0.38, 0.62)
_MIN_EDGE_PX = 9.0
"""A shorter edge gets no label: nobody could see which edge is meant."""
_LEADER_START_PX = 9.5


def label_pieces(canvas: Canvas) -> tuple[list[Label], list[str]]:
    """Return a label for each piece that has room for one, and a note that lists the others."""
    pieces = [(run, piece) for run in canvas.laid.runs for piece in run.pieces]
    labels = [_label_piece(run, piece, canvas) for run, piece in pieces]
    missing = ", ".join(_stretches([piece.name for _, piece in pieces], labels))
    note = f"Pieces not named on the plan: {missing}."
    return [label for label in labels if label], [note] if missing else []


def _stretches(names: Sequence[str], labels: Sequence[Label | None]) -> Iterator[str]:
    """Yield the names without a label, those that follow each other as one stretch."""
    pairs = zip(names, labels, strict=True)
    for has_label, stretch in groupby(pairs, key=lambda pair: pair[1] is not None):
        first, *others = (name for name, _ in stretch)
        if not has_label:
            yield f"{first} to {others[-1]}" if others else first


def _label_piece(run: LaidRun, named: NamedPiece, canvas: Canvas) -> Label | None:
    """Return the label of a piece beside its two longest parts, outside the array if possible.

    At larger scales its cut length follows its name.
    """
    line = piece_line(run, named, canvas)
    parts = sorted(segments(line), key=length, reverse=True)[:2]
    if canvas.scale.ratio <= _MAX_RATIO_WITH_LENGTHS:
        cut_length = f" {canvas.length_text(named.piece.cut_nm)}"
        positions = _positions_beside(parts, named.name + cut_length, outward, _NEAR_GAPS)
        if label := place(named.name, positions, canvas.occupancy, "t b", cut_length):
            return label
    positions = chain(
        _positions_beside(parts, named.name, outward, _FAR_GAPS),
        _positions_beside(parts, named.name, inward, _FAR_GAPS, on_array=True),
    )
    return place(named.name, positions, canvas.occupancy, "t b")


def _positions_beside(
    parts: Sequence[Segment],
    text: str,
    across: Callable[[Segment], Point],
    gaps: Sequence[float],
    *,
    shares: Sequence[float] = _PIECE_SHARES,
    on_array: bool = False,
) -> Iterator[Position]:
    """Yield positions of unrotated text at growing gaps from some lines."""
    for gap in gaps:
        for part in parts:
            for share in shares:
                yield _beside(point_at(part, share), across(part), gap, text, on_array=on_array)


def label_edges(canvas: Canvas) -> tuple[list[Label], list[str]]:
    """Return a label for each edge that has room for one, and a note that lists the others.

    Where there are several strips, the label says which the edge takes.
    """
    edges = canvas.laid.edges
    several = len({placed.strip for placed in edges if placed.strip}) > 1
    texts = [_edge_text(placed, canvas, several) for placed in edges]
    labels = [_label_edge(placed, text, canvas) for placed, text in zip(edges, texts, strict=True)]
    missing = [text for text, label in zip(texts, labels, strict=True) if not label]
    if len(missing) > _MAX_LISTED:
        missing = list(_stretches([placed.name for placed in edges], labels))
    note = f"Edges not named on the plan: {'; '.join(missing)}."
    return [label for label in labels if label], [note] if missing else []


def _edge_text(placed: PlacedEdge, canvas: Canvas, several: bool) -> str:
    strip = f", strip {placed.strip}" if several and placed.strip else ""
    state = ", left open" if placed.open else strip
    return f"{placed.name}: {canvas.length_text(placed.edge.length_nm)}{state}"


def _label_edge(placed: PlacedEdge, full: str, canvas: Canvas) -> Label | None:
    line = canvas.edge(placed)
    if length(line) < _MIN_EDGE_PX:
        return None
    gap = 16 if placed.zone == "standard" or placed.open else 16 + ZONE_DEPTH_PX + 4
    texts = (full, placed.name)
    inside = [(text, _positions_inside(line, text, gap)) for text in texts]
    outside = [
        (text, _positions_beside([line], text, outward, (32, 46), shares=_EDGE_SHARES))
        for text in texts
    ]
    tries = (place(text, at, canvas.occupancy, "t q") for text, at in inside + outside)
    return next((label for label in tries if label), None)


def _positions_inside(line: Segment, text: str, gap: float) -> Iterator[Position]:
    """Yield positions inside the array: along the edge, or unrotated where it is too short."""
    normal = inward(line)
    if text_width(text) <= length(line) - 16:
        rotation = _readable_rotation(line)
        for away in (gap, gap + 15, gap + 32):
            for share in _EDGE_SHARES:
                center = move(point_at(line, share), normal, away)
                yield Position(center=center, rotation=rotation, on_array=True)
    yield _beside(point_at(line, 0.5), normal, gap - 6, text, on_array=True)


def _readable_rotation(line: Segment) -> float:
    """Return the rotation of text along a line that reads from below or from the right."""
    (ax, ay), (bx, by) = line
    angle = degrees(atan2(by - ay, bx - ax))
    if angle >= 89.9:
        angle -= 180
    elif angle < -90.1:
        angle += 180
    return 0 if abs(angle) < 0.05 else angle


def _beside(point: Point, normal: Point, gap: float, text: str, *, on_array: bool) -> Position:
    """Return the position of unrotated text whose box begins `gap` away from a point."""
    half_width, half_height = text_width(text) / 2, TEXT_PX * 0.6
    away = gap + abs(normal[0]) * half_width + abs(normal[1]) * half_height
    leader = (move(point, normal, _LEADER_START_PX), move(point, normal, gap - 2))
    return Position(
        center=move(point, normal, away), leader=leader if gap > 30 else None, on_array=on_array
    )
