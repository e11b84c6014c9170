"""Lettering that looks for a free place: beside its line first, then further off with a leader."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, radians, sin

import msgspec

from service.drawing.lettering import LETTER_PX, width_px
from service.drawing.lines import stepped
from service.drawing.room import Patch, Room, along
from service.drawing.svg import Dot, num, words

_LOW_PX = 0.36 * LETTER_PX
"""How far below its middle lettering stands."""


class Seat(msgspec.Struct, frozen=True, kw_only=True):
    """A place that lettering could take: its middle, its turn, and what a leader leads to."""

    middle: Dot
    turn: float = 0
    leader: tuple[Dot, Dot] | None = None
    plate: bool = False
    """Whether it lies on the array and needs a ground of its own."""


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """Lettering in its place."""

    text: str
    more: str
    kind: str
    seat: Seat

    @property
    def wide(self) -> float:
        """Return how wide the lettering is [px]."""
        return _wide(self.text, self.more, self.kind)


def seated(
    text: str, seats: Iterable[Seat], room: Room, kind: str = "t", more: str = ""
) -> Label | None:
    """Return the lettering in the first free seat, which is then taken; None where none is free."""
    wide = _wide(text, more, kind)
    if room.is_spent():
        return None
    for seat in seats:
        patches = _patches(seat, wide)
        if room.is_free(patches) and (seat.leader is None or room.is_free(_led(seat.leader))):
            room.take(patches)
            if seat.leader:
                room.take(_led(seat.leader))
            return Label(text=text, more=more, kind=kind, seat=seat)
    return None


def drawn(labels: Sequence[Label]) -> list[str]:
    """Return the lettering, leaders below plates and plates below letters."""
    leaders = "".join(_leader(label.seat.leader) for label in labels if label.seat.leader)
    parts = [f'<path class="line" d="{leaders}"/>'] if leaders else []
    parts += [_plate(label) for label in labels if label.seat.plate]
    return parts + [_letters(label) for label in labels]


def beyond(place: Dot, way: Dot, gap: float, text: str) -> Dot:
    """Return the middle of upright lettering whose box begins `gap` away from a place."""
    wide, high = width_px(text) / 2, LETTER_PX * 0.6
    return stepped(place, way, gap + abs(way[0]) * wide + abs(way[1]) * high)


def _wide(text: str, more: str, kind: str) -> float:
    return width_px(text, bold=kind.endswith("b")) + width_px(more) + 4


def _patches(seat: Seat, wide: float) -> list[Patch]:
    x, y = seat.middle
    half = LETTER_PX * 0.62
    if not seat.turn:
        return [(x - wide / 2, y - half, x + wide / 2, y + half)]
    turn = radians(seat.turn)
    dx, dy = cos(turn) * (wide / 2), sin(turn) * (wide / 2)
    return along((x - dx, y - dy), (x + dx, y + dy), half)


def _led(leader: tuple[Dot, Dot]) -> list[Patch]:
    return along(*leader, 1.0)


def _leader(leader: tuple[Dot, Dot]) -> str:
    (ax, ay), (bx, by) = leader
    return f"M{num(ax)} {num(ay)}L{num(bx)} {num(by)}"


def _letters(label: Label) -> str:
    x, y = label.seat.middle
    turn = label.seat.turn
    lean = radians(turn)
    at = (x - sin(lean) * _LOW_PX, y + cos(lean) * _LOW_PX)
    return words(label.text, at, label.kind, "middle", turn, more=label.more)


def _plate(label: Label) -> str:
    x, y = label.seat.middle
    wide, high = label.wide, LETTER_PX * 1.3
    turn = label.seat.turn
    more = f' transform="rotate({num(turn)} {num(x)} {num(y)})"' if turn else ""
    return (
        f'<rect class="inner" x="{num(x - wide / 2)}" y="{num(y - high / 2)}"'
        f' width="{num(wide)}" height="{num(high)}" rx="2"{more}/>'
    )
