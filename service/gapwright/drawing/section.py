"""Section of the channel: the flat strip with its bend lines, and the bent C."""

from __future__ import annotations

from math import cos, radians, sin

from gapwright.calc.channel import Profile
from gapwright.calc.sizing import Sizing
from gapwright.drawing import svg
from gapwright.drawing.svg import LINE_PX, PX_PER_IN, Block, Point, number, polyline, wrap
from gapwright.quantity.output import SectionDown
from gapwright.quantity.show import NM_PER_IN, System, decimal

WIDTH_PX = 410.0
_MAX_HEIGHT_PX = 215.0
_RATIOS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_TOP_PX = 62.0
_STRIP_LEFT, _STRIP_RIGHT = 86.0, 132.0
_WEB_X = 268.0


def section_block(sizing: Sizing, system: System, name: str = "") -> Block | None:
    """Return the detail, or None where there is no channel to show; `name` follows "Channel"."""
    profile, strip_nm = sizing.profile.value, sizing.strip_nm.value
    if profile is None or strip_nm is None:
        return None
    full_px = strip_nm * PX_PER_IN / NM_PER_IN
    ratio = next((ratio for ratio in _RATIOS if full_px / ratio <= _MAX_HEIGHT_PX), _RATIOS[-1])
    px_per_nm = PX_PER_IN / NM_PER_IN / ratio
    bottom = _TOP_PX + strip_nm * px_per_nm
    middle = (_TOP_PX + bottom) / 2
    strip = SectionDown(strip_nm)
    low, high = (length.text(system) for length in profile.bend_lines)
    note = (
        f"Bend the {strip.text(system)} strip at {low} and {high}, both measured from one edge."
        f" {_bend_angle_text(profile).capitalize()}, measured from the flat strip."
    )
    if not profile.snug:
        note += " The channel is loose in the largest gap; see the sizing advice."
    notes = wrap(note, WIDTH_PX)
    y = max(bottom, middle + profile.free_height.min.nm * px_per_nm / 2) + 34
    body = svg.group(
        f"Section of the channel{name}",
        svg.text(f"Channel{name}, scale 1:{ratio}", (0, 15), "head"),
        svg.group(
            "Flat strip with its bend lines", *_flat_strip(profile, strip, px_per_nm, system)
        ),
        svg.group(
            "Section of the bent channel", *_bent_channel(profile, middle, px_per_nm, system)
        ),
        svg.text_lines(notes, (0, y)),
    )
    return Block(width=WIDTH_PX, height=y + len(notes) * LINE_PX - 6, body=body)


def _bend_angle_text(profile: Profile) -> str:
    angles = (profile.bend_angle.min, profile.bend_angle.max)
    low, high = (f"{decimal(angle):g}°" for angle in angles)
    return f"bend {low}" if low == high else f"bend {low} to {high}"


def _flat_strip(
    profile: Profile, strip: SectionDown, px_per_nm: float, system: System
) -> list[str]:
    """Return the flat strip, its bend lines, and how far they are from its lower edge."""
    bottom = _TOP_PX + strip.nm * px_per_nm
    low, high = profile.bend_lines
    readings = (strip, high, low, SectionDown(0))
    ys = [bottom - reading.nm * px_per_nm for reading in readings]
    texts, last = [], -100.0
    for reading, y in zip(readings, ys, strict=True):
        last = max(y + 4, last + 14)  # at least a line of text apart
        kind = "t b" if reading in (low, high) else "t"
        texts.append(svg.text(reading.text(system), (_STRIP_LEFT - 20, last), kind, anchor="end"))
    left, right, side = (number(at) for at in (_STRIP_LEFT, _STRIP_RIGHT, bottom))
    ruler = f"M{number(_STRIP_LEFT - 12)} {number(_TOP_PX)}V{side}"
    ticks = "".join(_level(_STRIP_LEFT - 16, _STRIP_LEFT - 8, y) for y in ys)
    bends = "".join(_level(_STRIP_LEFT - 4, _STRIP_RIGHT + 4, y) for y in ys[1:3])
    middle = (_STRIP_LEFT + _STRIP_RIGHT) / 2
    return [
        svg.text("flat strip", (middle, _TOP_PX - 12), "t q", anchor="middle"),
        svg.path("module frame", f"M{left} {number(_TOP_PX)}H{right}V{side}H{left}z"),
        svg.path("bend", bends),
        svg.path("line", ruler + ticks),
        *texts,
    ]


def _level(left: float, right: float, y: float) -> str:
    return f"M{number(left)} {number(y)}H{number(right)}"


def _bent_channel(profile: Profile, middle: float, px_per_nm: float, system: System) -> list[str]:
    """Return the channel at its smallest bend angle, and dashed at its largest."""
    shape, ghost = (
        _shape(profile, angle, middle, px_per_nm)
        for angle in (profile.bend_angle.min, profile.bend_angle.max)
    )
    top, tip, flange_end = shape[1][1], shape[0], shape[-1]
    right = max(point[0] for point in shape) + 16
    height = f"M{number(right - 5)} {number(tip[1])}h10m-5 0V{number(flange_end[1])}m-5 0h10"
    texts = (
        ("web", "t", (_WEB_X - 8, middle - 4), "end"),
        (profile.web.text(system), "t b", (_WEB_X - 8, middle + 11), "end"),
        (_bend_angle_text(profile), "t b", (_WEB_X - 8, top - 18), "end"),
        ("free height", "t", (right + 8, middle - 4), "start"),
        (profile.free_height.min.text(system), "t b", (right + 8, middle + 11), "start"),
        (
            f"flange {profile.flange.text(system)}",
            "t",
            (max(_WEB_X, (_WEB_X + tip[0]) / 2) + 4, flange_end[1] + 18),
            "middle",
        ),
    )
    return [
        svg.path("ghost", polyline(ghost)) if ghost != shape else "",
        svg.path("line", polyline([(_WEB_X, top), (_WEB_X, top - 34)])),
        svg.path("line", _angle_arc(top, profile.bend_angle.min)),
        svg.path("mesh", polyline(shape)),
        svg.path("line", height),
        *(svg.text(content, at, kind, anchor=anchor) for content, kind, at, anchor in texts),
    ]


def _shape(profile: Profile, angle: float, middle: float, px_per_nm: float) -> list[Point]:
    """Return the C from the tip of its upper flange to that of its lower one."""
    half, flange = profile.web.nm * px_per_nm / 2, profile.flange.nm * px_per_nm
    out, away = sin(radians(angle)) * flange, cos(radians(angle)) * flange
    return [
        (_WEB_X + out, middle - half - away),
        (_WEB_X, middle - half),
        (_WEB_X, middle + half),
        (_WEB_X + out, middle + half + away),
    ]


def _angle_arc(top: float, bend_angle: float) -> str:
    """Return the arc from the web's own line to the flange: the angle from the flat strip."""
    angle, radius = radians(bend_angle), 22
    end = (_WEB_X + radius * sin(angle), top - radius * cos(angle))
    start = f"M{number(_WEB_X)} {number(top - radius)}"
    return f"{start}A{radius} {radius} 0 0 1 {number(end[0])} {number(end[1])}"
