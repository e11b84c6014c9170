"""Labels of a plan: pieces next to the channel outside the array, sides inside it.

If there is no room, labels move further away and get a leader. Names that fit nowhere are listed
below the plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import chain, groupby
from math import atan2, degrees

from msgspec.structs import replace

from gapwright.calc.layout.lay import LaidRun, NamedPiece
from gapwright.calc.layout.sides import PlacedSide
from gapwright.drawing.canvas import Canvas
from gapwright.drawing.channel import piece_line
from gapwright.drawing.geometry import Segment, inward, length, move, outward, point_at, segments
from gapwright.drawing.placement import Label, place
from gapwright.drawing.svg import TEXT_PX, Point, text_width

ZONE_DEPTH_PX = 9
"""Depth of the pattern that marks a zone along its side."""
_NEAR_GAPS = (16.0, 22.0)
_FAR_GAPS = (16.0, 22.0, 40.0, 64.0)
"""How far from the channel the label of a piece begins [px]; a leader leads to it from afar."""
_MAX_GAP_PX = 30
"""A label further away has a leader."""
_MAX_RATIO_WITH_LENGTHS = 96
_MAX_LISTED = 30
_PIECE_SHARES = (0.5, 0.3, 0.7)
_EDGE_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75, 0.46, 0.54, 0.38, 0.62)
_MIN_EDGE_PX = 9.0
"""A shorter side gets no label: nobody could see which side is meant."""
_LEADER_START_PX = 9.5


def label_pieces(canvas: Canvas) -> tuple[list[Label], list[str]]:
    """Return a label for each piece that has room for one, and a note that lists the others."""
    pieces = [(run, piece) for run in canvas.laid.runs for piece in run.pieces]
    labels = [_label_piece(run, piece, canvas) for run, piece in pieces]
    missing = ", ".join(_stretches([piece.name for _, piece in pieces], labels))
    note = f"Pieces not labeled on the plan: {missing}."
    return [label for label in labels if label], [note] if missing else []


def _stretches(names: Sequence[str], labels: Sequence[Label | None]) -> Iterator[str]:
    """Yield the names without a label, those that follow each other as one stretch."""
    pairs = zip(names, labels, strict=True)
    for has_label, stretch in groupby(pairs, key=lambda pair: pair[1] is not None):
        first, *others = (name for name, _ in stretch)
        if not has_label:
            yield f"{first} to {others[-1]}" if others else first


def _label_piece(run: LaidRun, named: NamedPiece, canvas: Canvas) -> Label | None:
    """Return the label of a piece next to its two longest parts, outside the array if possible.

    At larger scales its cut length follows its name.
    """
    parts = sorted(segments(piece_line(run, named, canvas)), key=length, reverse=True)[:2]
    cut_length = f" {canvas.length_text(named.piece.cut_nm)}"
    name = Label(text=named.name, kind="t b", center=(0, 0))
    full = replace(name, plain=cut_length)
    has_length = canvas.scale.ratio <= _MAX_RATIO_WITH_LENGTHS
    candidates = chain(
        _beside_lines(full, parts, outward, _NEAR_GAPS if has_length else ()),
        _beside_lines(name, parts, outward, _FAR_GAPS),
        _beside_lines(replace(name, on_array=True), parts, inward, _FAR_GAPS),
    )
    return place(candidates, canvas.occupancy)


def _beside_lines(
    label: Label,
    lines: Sequence[Segment],
    across: Callable[[Segment], Point],
    gaps: Sequence[float],
    shares: Sequence[float] = _PIECE_SHARES,
) -> Iterator[Label]:
    """Yield an unrotated label at growing gaps from some lines."""
    for gap in gaps:
        for line in lines:
            for share in shares:
                yield _beside(label, point_at(line, share), across(line), gap)


def label_sides(canvas: Canvas) -> tuple[list[Label], list[str]]:
    """Return a label for each side that has room for one, and a note that lists the others.

    If there are several strips, the label names the strip of the side.
    """
    sides = canvas.laid.sides
    several = len({placed.strip for placed in sides if placed.strip}) > 1
    texts = [_side_text(placed, canvas, several) for placed in sides]
    labels = [_label_side(placed, text, canvas) for placed, text in zip(sides, texts, strict=True)]
    missing = [text for text, label in zip(texts, labels, strict=True) if not label]
    if len(missing) > _MAX_LISTED:
        missing = list(_stretches([placed.name for placed in sides], labels))
    note = f"Sides not labeled on the plan: {'; '.join(missing)}."
    return [label for label in labels if label], [note] if missing else []


def _side_text(placed: PlacedSide, canvas: Canvas, several: bool) -> str:
    strip = f", strip {placed.strip}" if several and placed.strip else ""
    state = ", left open" if placed.open else strip
    return f"{placed.name}: {canvas.length_text(placed.length_nm)}{state}"


def _label_side(placed: PlacedSide, full: str, canvas: Canvas) -> Label | None:
    line = canvas.side(placed)
    if length(line) < _MIN_EDGE_PX:
        return None
    gap = 16 if placed.zone == "standard" or placed.open else 16 + ZONE_DEPTH_PX + 4
    labels = [Label(text=text, kind="t q", center=(0, 0)) for text in (full, placed.name)]
    candidates = chain(
        *(_inside(replace(label, on_array=True), line, gap) for label in labels),
        *(_beside_lines(label, [line], outward, (32, 46), _EDGE_SHARES) for label in labels),
    )
    return place(candidates, canvas.occupancy)


def _inside(label: Label, line: Segment, gap: float) -> Iterator[Label]:
    """Yield a label inside the array: along the side, or unrotated if it is too short."""
    normal = inward(line)
    if text_width(label.text) <= length(line) - 16:
        rotation = _readable_rotation(line)
        for away in (gap, gap + 15, gap + 32):
            for share in _EDGE_SHARES:
                center = move(point_at(line, share), normal, away)
                yield replace(label, center=center, rotation=rotation)
    yield _beside(label, point_at(line, 0.5), normal, gap - 6)


def _readable_rotation(line: Segment) -> float:
    """Return the rotation of text along a line that reads from below or from the right."""
    (ax, ay), (bx, by) = line
    angle = degrees(atan2(by - ay, bx - ax))
    if angle >= 89.9:
        angle -= 180
    elif angle < -90.1:
        angle += 180
    return 0 if abs(angle) < 0.05 else angle


def _beside(label: Label, point: Point, normal: Point, gap: float) -> Label:
    """Return an unrotated label whose box begins `gap` away from a point."""
    half_width, half_height = label.width / 2 - 2, TEXT_PX * 0.6
    away = gap + abs(normal[0]) * half_width + abs(normal[1]) * half_height
    leader = (move(point, normal, _LEADER_START_PX), move(point, normal, gap - 2))
    return replace(
        label, center=move(point, normal, away), leader=leader if gap > _MAX_GAP_PX else None
    )
