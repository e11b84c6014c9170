"""Colors and the style sheet of a drawing: light by default and in print, dark on a dark screen.

Colors are chosen so that neighbors also differ for people who see no red or no green, and in
gray: the three colors of pieces lie far apart in lightness as well. Every line keeps a contrast of
3 : 1 to the paper, and all text 4.5 : 1 (the thresholds of WCAG 2.2, 1.4.11 and 1.4.3).
tests/unit/drawing/test_style.py computes all of that.
"""

from __future__ import annotations

from functools import lru_cache

import msgspec


class Palette(msgspec.Struct, frozen=True, kw_only=True):
    """One color for each part of a drawing, as `#rrggbb`."""

    paper: str
    ink: str
    quiet: str
    module: str
    seam: str
    rail: str
    pieces: tuple[str, str, str]
    warning: str


LIGHT = Palette(
    paper="#ffffff",
    ink="#1a2027",
    quiet="#55606c",
    module="#eef2f5",
    seam="#b9c3cd",
    rail="#76828e",
    pieces=("#1f3a93", "#9c5200", "#1d9fb0"),
    warning="#c2185b",
)

DARK = Palette(
    paper="#12171d",
    ink="#e9edf2",
    quiet="#aab4bf",
    module="#1e262f",
    seam="#435060",
    rail="#8391a0",
    pieces=("#4f70f0", "#e0902f", "#b8f3e7"),
    warning="#ff5f95",
)

PATTERNS = (
    '<defs><pattern id="zone0" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<circle class="ink" cx="3" cy="3" r="1.3"/></pattern>'
    '<pattern id="zone1" width="6" height="6" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><path class="hatch" d="M3 0V6"/></pattern>'
    '<pattern id="zone2" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<path class="hatch" d="M0 3.5H7M3.5 0V7"/></pattern></defs>'
)
"""What zones are filled with: dots, slanted lines, a grid."""

_SHAPES = {
    "text": "font:12px sans-serif",
    ".big": "font:bold 22px sans-serif",
    ".head": "font:bold 15px sans-serif",
    ".b": "font-weight:bold",
    ".plain": "font-weight:normal",
    ".far": "font:bold 12px sans-serif;letter-spacing:1.5px",
    ".line": "fill:none",
    ".rail": "fill:none;stroke-dasharray:8 3",
    ".outline": "fill:none;stroke-width:1",
    ".open": "fill:none;stroke-width:1.6;stroke-dasharray:2 4",
    ".p0,.p1,.p2,.c1,.c2": "fill:none;stroke-miterlimit:6",
    ".c2": "stroke-dasharray:2.5 6",
    ".under": "fill:none",
    ".lap": "fill:none;stroke-dasharray:1.4 1.8",
    ".corner,.cut": "stroke-width:1.6",
    ".over": "fill:none;stroke-width:3;stroke-dasharray:3 2",
    ".bend": "fill:none;stroke-width:1.4;stroke-dasharray:6 3",
    ".mesh": "fill:none;stroke-width:3;stroke-linejoin:round",
    ".ghost": "fill:none;stroke-width:1.6;stroke-dasharray:4 3",
    ".dot": "stroke-width:1.2",
}


@lru_cache(maxsize=1)
def stylesheet() -> str:
    """Return the style element; its rules apply to nothing outside of a drawing."""
    shapes = "".join(_rule(selectors, shape) for selectors, shape in _SHAPES.items())
    dark = f"@media screen and (prefers-color-scheme:dark){{{_colors(DARK)}}}"
    return f"<style>{shapes}{_colors(LIGHT)}{dark}</style>"


def _rule(selectors: str, declarations: str) -> str:
    scoped = ",".join(f".gapwright-plan {selector}" for selector in selectors.split(","))
    return f"{scoped}{{{declarations}}}"


def _colors(palette: Palette) -> str:
    fills = {
        ".paper,.plate": palette.paper,
        "text,.ink,.tab": palette.ink,
        ".q": palette.quiet,
        ".module,.inner": palette.module,
        ".badge": palette.warning,
        ".number,.corner,.cut": palette.paper,
    }
    strokes = {
        ".module": palette.seam,
        ".rail": palette.rail,
        ".outline,.open,.lap,.corner,.cut,.bend,.hatch,.mesh,.frame": palette.ink,
        ".line,.ghost": palette.quiet,
        ".under,.c1,.c2,.tab,.dot": palette.paper,
        ".over": palette.warning,
    }
    strokes |= {f".p{n}": color for n, color in enumerate(palette.pieces)}
    rules = [_rule(selectors, f"fill:{color}") for selectors, color in fills.items()]
    rules += [_rule(selectors, f"stroke:{color}") for selectors, color in strokes.items()]
    return "".join(rules)
