"""Section of the channel: the flat strip with its bend lines, and the bent C."""

from __future__ import annotations

from cmath import rect
from math import pi, radians

from gapwright.calc.channel import Profile
from gapwright.calc.sizing import Sizing
from gapwright.drawing import svg
from gapwright.drawing.svg import PX_PER_IN, Block, PagePoint, number, polyline
from gapwright.quantity.output import SectionDown
from gapwright.quantity.show import NM_PER_IN, System, decimal

SHAPE = "C channel"
"""The one shape into which a strip is bent so far."""
_WIDTH_PX = 410.0
_MAX_HEIGHT_PX = 170.0
_RATIOS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_TOP_PX = 48.0
_STRIP_LEFT, _STRIP_RIGHT = 86.0, 132.0
_WEB_X = 268.0
_ARC_PX = 22


def section_block(sizing: Sizing, system: System, name: str = "") -> Block | None:
    """Return the detail, or None where there is no channel to show; `name` follows the shape."""
    profile, strip_nm = sizing.profile.value, sizing.strip_nm.value
    if profile is None or strip_nm is None:
        return None
    full_px = strip_nm * PX_PER_IN / NM_PER_IN
    ratio = next((ratio for ratio in _RATIOS if full_px / ratio <= _MAX_HEIGHT_PX), _RATIOS[-1])
    px_per_nm = PX_PER_IN / NM_PER_IN / ratio
    bottom = _TOP_PX + strip_nm * px_per_nm
    middle = (_TOP_PX + bottom) / 2
    strip = SectionDown(strip_nm)
    loose = "" if profile.snug else "Loose in the largest gap; see the sizing advice."
    y = max(bottom, middle + profile.free_height.min.nm * px_per_nm / 2) + 22
    body = svg.group(
        f"Section of the channel{name}",
        svg.text(f"{SHAPE}{name}, scale 1:{ratio}", 15j, "head"),
        svg.group(
            "Flat strip with its bend lines", *_flat_strip(profile, strip, px_per_nm, system)
        ),
        svg.group(
            "Section of the bent channel", *_bent_channel(profile, middle, px_per_nm, system)
        ),
        svg.text(loose, complex(0, y + 20)) if loose else "",
    )
    return Block(width=_WIDTH_PX, height=y + 26 * bool(loose), body=body)


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
        kind, at = "t b" if reading in (low, high) else "t", complex(_STRIP_LEFT - 20, last)
        texts.append(svg.text(reading.text(system), at, kind, anchor="end"))
    left, right, top, side = (number(at) for at in (_STRIP_LEFT, _STRIP_RIGHT, _TOP_PX, bottom))
    ruler = f"M{number(_STRIP_LEFT - 12)} {top}V{side}"
    ticks = "".join(f"M{number(_STRIP_LEFT - 16)} {number(y)}h8" for y in ys)
    bends = "".join(
        f"M{number(_STRIP_LEFT - 4)} {number(y)}H{number(_STRIP_RIGHT + 4)}" for y in ys[1:3]
    )
    name_at = complex((_STRIP_LEFT + _STRIP_RIGHT) / 2, _TOP_PX - 12)
    return [
        svg.text("flat strip", name_at, "t q", anchor="middle"),
        svg.path("module frame", f"M{left} {top}H{right}V{side}H{left}z"),
        svg.path("bend", bends),
        svg.path("line", ruler + ticks),
        *texts,
    ]


def _bent_channel(profile: Profile, middle: float, px_per_nm: float, system: System) -> list[str]:
    """Return the channel at its smallest bend angle, and dashed at its largest."""
    half, flange = profile.web.nm * px_per_nm / 2, profile.flange.nm * px_per_nm
    upper, lower = complex(_WEB_X, middle - half), complex(_WEB_X, middle + half)

    def shape(bend_angle: float) -> list[PagePoint]:
        """Return the C from the tip of its upper flange to that of its lower one."""
        up = rect(flange, radians(bend_angle) - pi / 2)
        return [upper + up, upper, lower, lower + up.conjugate()]

    angle = profile.bend_angle.min
    bent, ghost = shape(angle), shape(profile.bend_angle.max)
    tip, end = bent[0], bent[-1]
    arc_end = upper + rect(_ARC_PX, radians(angle) - pi / 2)
    arc = f"{polyline([upper - _ARC_PX * 1j])}A{_ARC_PX} {_ARC_PX} 0 0 1 "
    arc += f"{number(arc_end.real)} {number(arc_end.imag)}"
    right = max(point.real for point in bent) + 16
    height = f"M{number(right - 5)} {number(tip.imag)}h10m-5 0V{number(end.imag)}m-5 0h10"
    flange_at = complex(max(_WEB_X, (_WEB_X + tip.real) / 2) + 4, end.imag + 18)
    web_x, height_x = _WEB_X - 8, right + 8
    texts = (
        ("web", "t", complex(web_x, middle - 4), "end"),
        (profile.web.text(system), "t b", complex(web_x, middle + 11), "end"),
        (_bend_angle_text(profile), "t b", complex(web_x, upper.imag - 18), "end"),
        ("free height", "t", complex(height_x, middle - 4), "start"),
        (profile.free_height.min.text(system), "t b", complex(height_x, middle + 11), "start"),
        (f"flange {profile.flange.text(system)}", "t", flange_at, "middle"),
    )
    return [
        svg.path("ghost", polyline(ghost)) if ghost != bent else "",
        svg.path("line", polyline([upper, upper - 34j]) + arc + height),
        svg.path("mesh", polyline(bent)),
        *(svg.text(content, at, kind, anchor=anchor) for content, kind, at, anchor in texts),
    ]
