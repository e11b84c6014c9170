"""The names of pieces, beside the channel outside the array."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.drawing.label import Label, Seat, beyond, seated
from service.drawing.lines import Segment, between, length, outward, segments, stepped
from service.drawing.room import Room
from service.drawing.traced import TracedPiece, TracedRun

STEPS = (1, 2, 5, 10, 20, 50)
"""Every how many pieces one is named, where there is no room for all."""
_NEAR = ((16.0, False), (22.0, False))
_FAR = ((32.0, True), (48.0, True), (64.0, True))
_INNER = ((16.0, False), (34.0, True))
_SHARES = (0.5, 0.36, 0.64, 0.2, 0.8)


class Named(msgspec.Struct, frozen=True, kw_only=True):
    """The names of one run's pieces: one of every `step`, 0 where there is room for none.

    `lengths` tells whether the length to cut stands beside each name.
    """

    run: str
    step: int
    lengths: bool
    labels: Sequence[Label]


def name_pieces(run: TracedRun, room: Room) -> Named:
    """Return names for as many pieces of a run as there is room for, evenly.

    The lengths to cut are written too where all of them have room close by.
    """
    name = run.run.placed.name
    for step in (0, *STEPS):
        before = room.count()
        chosen = [p for n, p in enumerate(run.pieces, 1) if n == 1 or n % max(step, 1) == 0]
        labels = _all(chosen, run.side, room, lengths=not step)
        if labels is not None:
            return Named(run=name, step=max(step, 1), lengths=not step, labels=labels)
        room.back_to(before)
    return Named(run=name, step=0, lengths=False, labels=())


def _all(
    pieces: Sequence[TracedPiece], side: int, room: Room, *, lengths: bool
) -> list[Label] | None:
    """Return a label for each piece, or None as soon as one finds no room."""
    labels = []
    for piece in pieces:
        more = f" {piece.cut}" if lengths else ""
        seats = _seats(piece, side, piece.name + more, _NEAR if lengths else (*_NEAR, *_FAR))
        label = seated(piece.name, seats, room, "t b", more)
        if label is None:
            return None
        labels.append(label)
    return labels


def _seats(
    piece: TracedPiece, side: int, text: str, gaps: Sequence[tuple[float, bool]]
) -> Iterator[Seat]:
    """Yield the places for a name, the best first: outside the longest part of its piece."""
    parts = sorted(segments(piece.line), key=length, reverse=True)[:2]
    for plate, inner in ((False, gaps), (True, _INNER)):
        for gap, led in inner:
            for part in parts:
                yield from _beside(part, side, gap, led, text, plate=plate)


def _beside(
    part: Segment, side: int, gap: float, led: bool, text: str, *, plate: bool
) -> Iterator[Seat]:
    way = outward(part, -side if plate else side)
    for share in _SHARES:
        place = between(part, share)
        leader = (stepped(place, way, 8.5), stepped(place, way, gap - 2)) if led else None
        yield Seat(middle=beyond(place, way, gap, text), leader=leader, plate=plate)
