"""The section of the channel as a detail: the flat strip with its bend lines, and the bent C."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

import msgspec

from service.calc.channel import Profile
from service.calc.sizing import Sizing
from service.drawing.block import Block
from service.drawing.lettering import LINE_PX, wrapped
from service.drawing.scale import PX_PER_IN
from service.drawing.svg import Dot, group, num, path, trail, words
from service.quantity.show import NM_PER_IN, System, decimal, short

WIDE_PX = 410.0
_TALLEST_PX = 215.0
_RATIOS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_TOP_PX = 62.0
_STRIP_LEFT, _STRIP_RIGHT = 86.0, 132.0
_WEB_X = 268.0


class _Detail(msgspec.Struct, frozen=True, kw_only=True):
    """A channel with the scale of its detail, and the strip's upper and lower edge on the page."""

    channel: Profile
    strip_nm: int
    ratio: int
    system: System

    @property
    def each(self) -> float:
        return PX_PER_IN / NM_PER_IN / self.ratio

    @property
    def bottom(self) -> float:
        return _TOP_PX + self.strip_nm * self.each

    def text(self, nm: int, *, up: bool = False) -> str:
        return short(nm, self.system, "up" if up else "down").text


def section_block(sizing: Sizing, system: System, name: str = "") -> Block | None:
    """Return the detail, or None where there is no channel to show; `name` follows "Channel"."""
    profile, strip = sizing.profile.value, sizing.strip_nm.value
    if profile is None or strip is None:
        return None
    detail = _Detail(channel=profile, strip_nm=strip, ratio=_ratio(strip), system=system)
    notes = _notes(detail)
    below = max(detail.bottom, _web_middle(detail) + _half_height(detail)) + 34
    body = [
        words(f"Channel{name}, scale 1:{detail.ratio}", (0, 15), "head"),
        group("Flat strip with its bend lines", _flat(detail)),
        group("Section of the bent channel", _bent(detail)),
        *(words(line, (0, below + n * LINE_PX), "t") for n, line in enumerate(notes)),
    ]
    whole = group(f"Section of the channel{name}", body)
    return Block(width=WIDE_PX, height=below + len(notes) * LINE_PX - 6, body=[whole])


def _ratio(strip_nm: int) -> int:
    """Return the largest usual scale at which the strip is not too tall."""
    tall = strip_nm * PX_PER_IN / NM_PER_IN
    return next((ratio for ratio in _RATIOS if tall / ratio <= _TALLEST_PX), _RATIOS[-1])


def _flat(detail: _Detail) -> list[str]:
    """Return the flat strip, its bend lines, and how far they are from its lower edge."""
    left, right, bottom = _STRIP_LEFT, _STRIP_RIGHT, detail.bottom
    low, high = detail.channel.bend_lines_nm
    heights = [(detail.strip_nm, False), (high, False), (low, True), (0, False)]
    places = [(nm, up, bottom - nm * detail.each) for nm, up in heights]
    edge = f"M{num(left)} {num(_TOP_PX)}H{num(right)}V{num(bottom)}H{num(left)}z"
    bends = "".join(f"M{num(left - 4)} {num(y)}H{num(right + 4)}" for _, _, y in places[1:3])
    ticks = "".join(f"M{num(left - 16)} {num(y)}H{num(left - 8)}" for _, _, y in places)
    ruler = f"M{num(left - 12)} {num(_TOP_PX)}V{num(bottom)}"
    return [
        words("flat strip", ((left + right) / 2, _TOP_PX - 12), "t q", "middle"),
        path(edge, "module frame"),
        path(bends, "bend"),
        path(ruler + ticks, "line"),
        *_readings(detail, places, left - 20),
    ]


def _readings(detail: _Detail, places: Sequence[tuple[int, bool, float]], x: float) -> list[str]:
    """Return what a tape reads at each line, none nearer to the next than a line of letters."""
    shown, last = [], -100.0
    for nm, up, y in places:
        last = max(y + 4, last + 14)
        kind = "t b" if nm in detail.channel.bend_lines_nm else "t"
        shown.append(words(detail.text(nm, up=up), (x, last), kind, "end"))
    return shown


def _bent(detail: _Detail) -> list[str]:
    """Return the bent channel at its least turn, and dashed at its greatest where that differs."""
    channel = detail.channel
    bent = _outline(detail, channel.bend_angle.from_)
    middle = _web_middle(detail)
    half = channel.web.nm * detail.each / 2
    tip = bent[0]
    right = max(dot[0] for dot in bent) + 16
    parts = []
    if channel.bend_angle.to != channel.bend_angle.from_:
        parts.append(path(trail(_outline(detail, channel.bend_angle.to)), "ghost"))
    parts += [
        path(trail([(_WEB_X, middle - half), (_WEB_X, middle - half - 34)]), "line"),
        path(_arc(middle - half, channel.bend_angle.from_), "line"),
        path(trail(bent), "mesh"),
        path(_upright(right, bent[0][1], bent[-1][1]), "line"),
        words("web", (_WEB_X - 8, middle - 4), "t", "end"),
        words(detail.text(channel.web.nm), (_WEB_X - 8, middle + 11), "t b", "end"),
        words(_turns(channel), (_WEB_X - 8, middle - half - 18), "t b", "end"),
        words("springs to", (right + 8, middle - 4), "t"),
        words(detail.text(channel.free_height.from_.nm), (right + 8, middle + 11), "t b"),
    ]
    flange = (_WEB_X + max(tip[0] - _WEB_X, 0) / 2 + 4, bent[-1][1] + 18)
    text = f"flange {detail.text(channel.flange.nm, up=True)}"
    return [*parts, words(text, flange, "t", "middle")]


def _outline(detail: _Detail, turn_deg: float) -> list[Dot]:
    """Return the C from the tip of its upper flange to that of its lower one."""
    half = detail.channel.web.nm * detail.each / 2
    long = detail.channel.flange.nm * detail.each
    middle, turn = _web_middle(detail), radians(turn_deg)
    out, away = sin(turn) * long, cos(turn) * long
    return [
        (_WEB_X + out, middle - half - away),
        (_WEB_X, middle - half),
        (_WEB_X, middle + half),
        (_WEB_X + out, middle + half + away),
    ]


def _web_middle(detail: _Detail) -> float:
    return (_TOP_PX + detail.bottom) / 2


def _half_height(detail: _Detail) -> float:
    return detail.channel.free_height.from_.nm * detail.each / 2


def _arc(top: float, turn_deg: float) -> str:
    """Return the arc from the web's own line to the flange: the turn, from the flat strip."""
    turn, radius = radians(turn_deg), 22
    end = (_WEB_X + radius * sin(turn), top - radius * cos(turn))
    return f"M{num(_WEB_X)} {num(top - radius)}A{radius} {radius} 0 0 1 {num(end[0])} {num(end[1])}"


def _upright(x: float, top: float, bottom: float) -> str:
    return f"M{num(x - 5)} {num(top)}h10m-5 0V{num(bottom)}m-5 0h10"


def _turns(channel: Profile) -> str:
    least, greatest = (
        f"{decimal(turn):g}°" for turn in (channel.bend_angle.from_, channel.bend_angle.to)
    )
    return f"turn {least}" if least == greatest else f"turn {least} to {greatest}"


def _notes(detail: _Detail) -> list[str]:
    channel = detail.channel
    low, high = channel.bend_lines_nm
    text = (
        f"Bend the {detail.text(detail.strip_nm)} strip at {detail.text(low, up=True)} and at"
        f" {detail.text(high)}, both measured from one edge. {_turns(channel).capitalize()},"
        " measured from the flat strip."
    )
    if not channel.snug:
        text += " The channel is loose in the largest gap: see the sizing."
    return wrapped(text, WIDE_PX)
