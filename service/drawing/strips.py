"""The strips of a job in words, and which edges take which."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.calc.layout.strips import Strip
from service.calc.sizing import Sizing
from service.quantity.show import System, short

_MOST_EDGES = 12


def strips_told(strips: Sequence[Strip], planes: Sequence[LaidPlane], system: System) -> list[str]:
    """Return each strip in words; where there are several, with its name and its edges."""
    if len(strips) == 1:
        return [strip_words(strips[0].sizing, system)]
    return [
        f"{strip.name}: {strip_words(strip.sizing, system)}; {_edges(strip, planes)}"
        for strip in strips
    ]


def _edges(strip: Strip, planes: Sequence[LaidPlane]) -> str:
    names = [
        f"{edge.name} ({laid.plane.name})" if len(planes) > 1 else edge.name
        for laid in planes
        for edge in laid.edges
        if edge.strip == strip.name
    ]
    more = f" and {len(names) - _MOST_EDGES} more" if len(names) > _MOST_EDGES else ""
    return f"{'edge' if len(names) == 1 else 'edges'} {', '.join(names[:_MOST_EDGES])}{more}"


def strip_words(sizing: Sizing, system: System) -> str:
    """Return the strip and its channel in words, or why there is none."""
    if sizing.strip_nm.value is None:
        least = short(sizing.required_nm.value, system, "up").text
        return f"No stocked strip is wide enough: it must be at least {least}"
    strip = f"Strip {short(sizing.strip_nm.value, system, 'down').text} wide"
    profile = sizing.profile.value
    if profile is None:
        return f"{strip}; the gap is too low for a channel with a web"
    web = short(profile.web.nm, system, "down").text
    flange = short(profile.flange.nm, system, "up").text
    return f"{strip}, bent to a web of {web} and two flanges of {flange}"
