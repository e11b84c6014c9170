"""The section of the channel as a detail: the flat strip with its bend lines, and the bent C."""

from __future__ import annotations

from math import cos, radians, sin

import msgspec

from service.calc.channel import Profile
from service.calc.sizing import Sizing
from service.drawing import svg
from service.drawing.svg import LINE_PX, PX_PER_IN, Block, Point, number, polyline, wrap
from service.quantity.show import NM_PER_IN, System, decimal, short

WIDTH_PX = 410.0
_MAX_HEIGHT_PX = 215.0
_RATIOS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_TOP_PX = 62.0
_STRIP_LEFT, _STRIP_RIGHT = 86.0, 132.0
_WEB_X = 268.0


class _Detail(msgspec.Struct, frozen=True, kw_only=True):
    """A channel with the scale of its detail."""

    channel: Profile
    strip_nm: int
    ratio: int
    system: System

    def px(self, nm: int) -> float:
        """Return a length on the page."""
        return nm * PX_PER_IN / NM_PER_IN / self.ratio

    @property
    def bottom(self) -> float:
        """Return where the strip's lower edge is on the page."""
        return _TOP_PX + self.px(self.strip_nm)

    @property
    def middle(self) -> float:
        """Return where the middle of strip and web is on the page."""
        return (_TOP_PX + self.bottom) / 2

    @property
    def bend_angle_text(self) -> str:
        """Return the bend angles in words."""
        angles = (self.channel.bend_angle.from_, self.channel.bend_angle.to)
        low, high = (f"{decimal(angle):g}°" for angle in angles)
        return f"turn {low}" if low == high else f"turn {low} to {high}"

    def text(self, nm: int, *, up: bool = False) -> str:
        """Return a length as a tape reads."""
        return short(nm, self.system, "up" if up else "down").text


def section_block(sizing: Sizing, system: System, name: str = "") -> Block | None:
    """Return the detail, or None where there is no channel to show; `name` follows "Channel"."""
    profile, strip_nm = sizing.profile.value, sizing.strip_nm.value
    if profile is None or strip_nm is None:
        return None
    full_px = strip_nm * PX_PER_IN / NM_PER_IN
    ratio = next((ratio for ratio in _RATIOS if full_px / ratio <= _MAX_HEIGHT_PX), _RATIOS[-1])
    detail = _Detail(channel=profile, strip_nm=strip_nm, ratio=ratio, system=system)
    notes = wrap(_note(detail), WIDTH_PX)
    y = max(detail.bottom, detail.middle + detail.px(detail.channel.free_height.from_.nm) / 2) + 34
    body = svg.group(
        f"Section of the channel{name}",
        svg.text(f"Channel{name}, scale 1:{ratio}", (0, 15), "head"),
        svg.group("Flat strip with its bend lines", *_flat_strip(detail)),
        svg.group("Section of the bent channel", *_bent_channel(detail)),
        svg.text_lines(notes, (0, y)),
    )
    return Block(width=WIDTH_PX, height=y + len(notes) * LINE_PX - 6, body=body)


def _note(detail: _Detail) -> str:
    low, high = detail.channel.bend_lines_nm
    text = (
        f"Bend the {detail.text(detail.strip_nm)} strip at {detail.text(low, up=True)} and at"
        f" {detail.text(high)}, both measured from one edge."
        f" {detail.bend_angle_text.capitalize()}, measured from the flat strip."
    )
    if not detail.channel.snug:
        text += " The channel is loose in the largest gap: see the sizing."
    return text


def _flat_strip(detail: _Detail) -> list[str]:
    """Return the flat strip, its bend lines, and how far they are from its lower edge."""
    left, right, bottom = (number(at) for at in (_STRIP_LEFT, _STRIP_RIGHT, detail.bottom))
    low, high = detail.channel.bend_lines_nm
    # text rounds the lower bend line up and the upper one down, so that the web never gains
    readings = ((detail.strip_nm, False), (high, False), (low, True), (0, False))
    ys = [detail.bottom - detail.px(nm) for nm, _ in readings]
    line, tick = (_STRIP_LEFT - 4, _STRIP_RIGHT + 4), (_STRIP_LEFT - 16, _STRIP_LEFT - 8)
    ruler = f"M{number(_STRIP_LEFT - 12)} {number(_TOP_PX)}V{bottom}"
    texts, last = [], -100.0
    for (nm, up), y in zip(readings, ys, strict=True):
        last = max(y + 4, last + 14)  # at least a line of text apart
        kind = "t b" if nm in (low, high) else "t"
        text_at = (_STRIP_LEFT - 20, last)
        texts.append(svg.text(detail.text(nm, up=up), text_at, kind, anchor="end"))
    middle = (_STRIP_LEFT + _STRIP_RIGHT) / 2
    return [
        svg.text("flat strip", (middle, _TOP_PX - 12), "t q", anchor="middle"),
        svg.path("module frame", f"M{left} {number(_TOP_PX)}H{right}V{bottom}H{left}z"),
        svg.path("bend", "".join(_level(*line, y) for y in ys[1:3])),
        svg.path("line", ruler + "".join(_level(*tick, y) for y in ys)),
        *texts,
    ]


def _level(left: float, right: float, y: float) -> str:
    return f"M{number(left)} {number(y)}H{number(right)}"


def _bent_channel(detail: _Detail) -> list[str]:
    """Return the channel at its smallest bend angle, and dashed at its largest if different."""
    channel, middle = detail.channel, detail.middle
    shape = _shape(detail, channel.bend_angle.from_)
    top, tip, flange_end = shape[1][1], shape[0], shape[-1]
    right = max(point[0] for point in shape) + 16
    ghost = []
    if channel.bend_angle.to != channel.bend_angle.from_:
        ghost.append(svg.path("ghost", polyline(_shape(detail, channel.bend_angle.to))))
    flange_at = (_WEB_X + max(tip[0] - _WEB_X, 0) / 2 + 4, flange_end[1] + 18)
    flange = f"flange {detail.text(channel.flange.nm, up=True)}"
    return [
        *ghost,
        svg.path("line", polyline([(_WEB_X, top), (_WEB_X, top - 34)])),
        svg.path("line", _angle_arc(top, channel.bend_angle.from_)),
        svg.path("mesh", polyline(shape)),
        svg.path("line", _dimension(right, tip[1], flange_end[1])),
        svg.text("web", (_WEB_X - 8, middle - 4), anchor="end"),
        svg.text(detail.text(channel.web.nm), (_WEB_X - 8, middle + 11), "t b", anchor="end"),
        svg.text(detail.bend_angle_text, (_WEB_X - 8, top - 18), "t b", anchor="end"),
        svg.text("springs to", (right + 8, middle - 4)),
        svg.text(detail.text(channel.free_height.from_.nm), (right + 8, middle + 11), "t b"),
        svg.text(flange, flange_at, anchor="middle"),
    ]


def _shape(detail: _Detail, bend_angle: float) -> list[Point]:
    """Return the C from the tip of its upper flange to that of its lower one."""
    half, flange = detail.px(detail.channel.web.nm) / 2, detail.px(detail.channel.flange.nm)
    out, away = sin(radians(bend_angle)) * flange, cos(radians(bend_angle)) * flange
    return [
        (_WEB_X + out, detail.middle - half - away),
        (_WEB_X, detail.middle - half),
        (_WEB_X, detail.middle + half),
        (_WEB_X + out, detail.middle + half + away),
    ]


def _angle_arc(top: float, bend_angle: float) -> str:
    """Return the arc from the web's own line to the flange: the angle from the flat strip."""
    angle, radius = radians(bend_angle), 22
    end = (_WEB_X + radius * sin(angle), top - radius * cos(angle))
    start = f"M{number(_WEB_X)} {number(top - radius)}"
    return f"{start}A{radius} {radius} 0 0 1 {number(end[0])} {number(end[1])}"


def _dimension(x: float, top: float, bottom: float) -> str:
    return f"M{number(x - 5)} {number(top)}h10m-5 0V{number(bottom)}m-5 0h10"
