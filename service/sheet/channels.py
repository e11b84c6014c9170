"""The channels of the job: how each strip is bent, drawn and in figures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from service.calc.quote import Job, Reckoned
from service.drawing import draw_section
from service.quantity.show import System
from service.sheet.plain import line

_MARGIN_PX = 2.0


def channels(job: Job, reckoned: Reckoned, shown: Any, system: System) -> list[dict[str, Any]]:
    """Return a section for each strip, with what it is bent by.

    Where drawn planes take several, each is named as the cut list names it.
    """
    several = len(job.drawn.strips) > 1 if job.drawn else False
    return [
        {
            "name": sizing.layout_strip or "" if several else "",
            "arrays": ", ".join(_takers(job, sizing)),
            "svg": lettered(draw_section(strip.sizing, system, _MARGIN_PX)),
            "facts": [{"label": label, "text": text} for label, text in _facts(sizing)],
            "advice": [advice.text for advice in sizing.advice],
        }
        for strip, sizing in zip(reckoned.strips, shown.sizing, strict=True)
    ]


def _takers(job: Job, sizing: Any) -> Iterator[str]:
    """Yield what takes a strip; of a plane that takes several, with its edges."""
    planes = {area.name: area.plane for area in job.laid}
    for name in sizing.arrays:
        edges = planes[name].edges if name in planes else ()
        own = [edge.name for edge in edges if edge.strip == sizing.layout_strip]
        if len({edge.strip for edge in edges if not edge.open}) > 1:
            yield f"{line(name)} ({', '.join(own)})"
        else:
            yield line(name)


def lettered(svg: str | None) -> str | None:
    """Return a drawing with the sheet's own lettering; only its style is touched."""
    if svg is None:
        return None
    before, opening, rest = svg.partition("<style>")
    style, closing, after = rest.partition("</style>")
    style = style.replace("sans-serif", "'Source Sans Pro'")
    return f"{before}{opening}{style}{closing}{after}"


def _facts(sizing: Any) -> Iterator[tuple[str, str]]:
    profile, strip, clearance = sizing.profile, sizing.strip, sizing.clearance
    if strip.width is not None:
        yield "Strip, flat", strip.width.text
    if profile is not None:
        low, high = profile.bend_lines
        turn = profile.bend_angle
        free = profile.free_height
        yield "Bend lines, from one edge", f"{low.text} and {high.text}"
        yield "Turn of each bend", _between(f"{getattr(turn, 'from'):g}°", f"{turn.to:g}°")
        yield "Web, flanges", f"{profile.web.text}, {profile.flange.text}"
        yield "Springs open to", _between(free.to.text, getattr(free, "from").text)
        yield "Fit", profile.fit
    yield "Clearance, largest", clearance.governing.text
    yield "Clearance, tightest", clearance.tightest.text
    if clearance.isolated:
        yield "Tight spots", ", ".join(spot.text for spot in clearance.isolated)


def _between(least: str, most: str) -> str:
    return least if least == most else f"{least} to {most}"
