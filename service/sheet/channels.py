"""The channels of the job: how each strip is bent, drawn and in figures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from service.calc.quote import Reckoned
from service.calls.answers.quote import QuoteAnswer, StripSizing
from service.drawing import draw_section
from service.quantity.show import System
from service.sheet.plain import line

_MARGIN_PX = 2.0


def channels(reckoned: Reckoned, shown: QuoteAnswer, system: System) -> list[dict[str, Any]]:
    """Return a section for each strip, with what it is bent by."""
    return [
        {
            "arrays": ", ".join(line(name) for name in sizing.arrays),
            "svg": lettered(draw_section(strip.sizing, system, _MARGIN_PX)),
            "facts": [{"label": label, "text": text} for label, text in _facts(sizing)],
            "advice": [advice.text for advice in sizing.advice],
        }
        for strip, sizing in zip(reckoned.strips, shown.sizing, strict=True)
    ]


def lettered(svg: str | None) -> str | None:
    """Return a drawing with the sheet's own lettering; only its style is touched."""
    if svg is None:
        return None
    before, opening, rest = svg.partition("<style>")
    style, closing, after = rest.partition("</style>")
    style = style.replace("sans-serif", "'Source Sans Pro'")
    return f"{before}{opening}{style}{closing}{after}"


def _facts(sizing: StripSizing) -> Iterator[tuple[str, str]]:
    profile, strip, clearance = sizing.profile, sizing.strip, sizing.clearance
    if strip.width is not None:
        yield "Strip, flat", strip.width.text
    if profile is not None:
        low, high = profile.bend_lines
        turn = profile.bend_angle
        free = profile.free_height
        yield "Bend lines, from one edge", f"{low.text} and {high.text}"
        yield "Turn of each bend", _between(f"{turn.from_:g}°", f"{turn.to:g}°")
        yield "Web, flanges", f"{profile.web.text}, {profile.flange.text}"
        yield "Springs open to", _between(free.to.text, free.from_.text)
        yield "Fit", profile.fit
    yield "Clearance, largest", clearance.governing.text
    yield "Clearance, tightest", clearance.tightest.text
    if clearance.isolated:
        yield "Tight spots", ", ".join(spot.text for spot in clearance.isolated)


def _between(least: str, most: str) -> str:
    return least if least == most else f"{least} to {most}"
