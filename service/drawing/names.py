"""The names of pieces, beside the channel outside the array."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.drawing.label import Label, Seat, beyond, seated
from service.drawing.lines import between, length, outward, segments, stepped
from service.drawing.room import Room
from service.drawing.svg import Dot
from service.drawing.traced import TracedPiece, TracedRun

_Gap = tuple[float, bool]
"""How far from the channel a name begins [px], and whether a leader leads to it."""
_NEAR: tuple[_Gap, ...] = ((16.0, False), (22.0, False))
_FAR: tuple[_Gap, ...] = (*_NEAR, (32.0, True), (48.0, True), (64.0, True))
_INNER: tuple[_Gap, ...] = ((16.0, False), (34.0, True))
_SHARES = (0.5, 0.36, 0.64, 0.2, 0.8)


class _Way(msgspec.Struct, frozen=True):
    """One way to name the pieces of a run, all of them alike."""

    step: int
    lengths: bool
    outer: Sequence[_Gap]
    inner: Sequence[_Gap]


WAYS = (
    _Way(1, True, _NEAR, ()),
    _Way(1, False, _NEAR, ()),
    _Way(1, False, _FAR, ()),
    *(_Way(step, False, _FAR, _INNER) for step in (1, 2, 5, 10, 20, 50)),
)
"""From the best: close by with lengths, then further off, then one of every few pieces."""


QUICK_WAYS = (WAYS[1],)
"""What is tried where the sheet has turned out to be crowded."""


class Named(msgspec.Struct, frozen=True, kw_only=True):
    """The names of one run's pieces: one of every `step`.

    `step` is 0 where there is room for none; the run itself is named then if it has room.
    `lengths` tells whether the length to cut stands beside each name; `count` is of all pieces.
    """

    run: str
    count: int
    step: int
    lengths: bool
    labels: Sequence[Label]


def name_pieces(run: TracedRun, room: Room) -> Named:
    """Return names for as many pieces of a run as there is room for, evenly.

    The lengths to cut are written too where all of them have room close by.
    """
    name, count = run.run.placed.name, len(run.pieces)
    tried: list[object] = []
    for way in QUICK_WAYS if room.is_crowded() else WAYS:
        before = room.count()
        chosen = [piece for n, piece in enumerate(run.pieces, 1) if n == 1 or n % way.step == 0]
        attempt = (len(chosen), way.lengths, way.outer, way.inner)
        if attempt in tried:
            continue
        tried.append(attempt)
        labels = _all(run, chosen, way, room)
        if labels is not None:
            return Named(run=name, count=count, step=way.step, lengths=way.lengths, labels=labels)
        room.back_to(before)
    label = seated(name, [Seat(middle=_middle(run), plate=True)], room, "t b") if count else None
    return Named(run=name, count=count, step=0, lengths=False, labels=[label] if label else [])


def _middle(run: TracedRun) -> Dot:
    left, top, right, bottom = run.box
    return (left + right) / 2, (top + bottom) / 2


def _all(
    run: TracedRun, pieces: Sequence[TracedPiece], way: _Way, room: Room
) -> list[Label] | None:
    """Return a label for each of the pieces, or None as soon as one finds no room."""
    labels = []
    places = [(False, way.outer), (True, way.inner)]
    shut = int(not run.run.placed.edges[0].hole)
    places[shut] = (bool(shut), [gap for gap in places[shut][1] if gap[0] < run.depth])
    for piece in pieces:
        more = f" {piece.cut}" if way.lengths else ""
        seats = _seats(piece, 1, piece.name + more, places)
        label = seated(piece.name, seats, room, "t b", more)
        if label is None:
            return None
        labels.append(label)
    return labels


def _seats(
    piece: TracedPiece, side: int, text: str, places: Sequence[tuple[bool, Sequence[_Gap]]]
) -> Iterator[Seat]:
    """Yield the places for a name, the best first: outside the longest part of its piece."""
    parts = sorted(segments(piece.line), key=length, reverse=True)[:2]
    for plate, gaps in places:
        ways = [(part, outward(part, -side if plate else side)) for part in parts]
        for gap, led in gaps:
            for part, out in ways:
                for share in _SHARES:
                    place = between(part, share)
                    yield Seat(
                        middle=beyond(place, out, gap, text),
                        leader=_leader(place, out, gap) if led else None,
                        plate=plate,
                    )


def _leader(place: Dot, way: Dot, gap: float) -> tuple[Dot, Dot]:
    return stepped(place, way, 9.5), stepped(place, way, gap - 2)
