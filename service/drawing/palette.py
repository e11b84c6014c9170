"""The colours of a drawing, for light paper and for a dark screen.

Chosen so that neighbours also differ for people who see no red or no green, and in grey: the
three colours of pieces lie far apart in lightness as well. Every line keeps a contrast of 3 : 1
to the paper, and every lettering 4.5 : 1 (the thresholds of WCAG 2.2, 1.4.11 and 1.4.3).
tests/unit/drawing/test_palette.py computes all of that.
"""

from __future__ import annotations

import msgspec


class Colours(msgspec.Struct, frozen=True, kw_only=True):
    """One colour for each part of a drawing, as `#rrggbb`."""

    paper: str
    ink: str
    quiet: str
    module: str
    seam: str
    rail: str
    pieces: tuple[str, str, str]
    warning: str


LIGHT = Colours(
    paper="#ffffff",
    ink="#1a2027",
    quiet="#55606c",
    module="#eef2f5",
    seam="#b9c3cd",
    rail="#76828e",
    pieces=("#1f3a93", "#9c5200", "#1d9fb0"),
    warning="#c2185b",
)

DARK = Colours(
    paper="#12171d",
    ink="#e9edf2",
    quiet="#aab4bf",
    module="#1e262f",
    seam="#435060",
    rail="#8391a0",
    pieces=("#4f70f0", "#e0902f", "#b8f3e7"),
    warning="#ff5f95",
)
