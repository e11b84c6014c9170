"""Colors and the style sheet of a drawing: light by default and in print, dark on a dark screen.

Colors are chosen so that neighbors also differ for people who see no red or no green, and in
gray: the three colors of pieces lie far apart in lightness as well. Every line keeps a contrast of
3 : 1 to the paper, and all text 4.5 : 1 (the thresholds of WCAG 2.2, 1.4.11 and 1.4.3).
tests/unit/drawing/test_style.py computes all of that.
"""

from __future__ import annotations

LIGHT = {
    "paper": "#ffffff",
    "ink": "#1a2027",
    "quiet": "#55606c",
    "module": "#eef2f5",
    "seam": "#b9c3cd",
    "rail": "#76828e",
    "piece0": "#1f3a93",
    "piece1": "#9c5200",
    "piece2": "#1d9fb0",
    "warning": "#c2185b",
}
DARK = {
    "paper": "#12171d",
    "ink": "#e9edf2",
    "quiet": "#aab4bf",
    "module": "#1e262f",
    "seam": "#435060",
    "rail": "#8391a0",
    "piece0": "#4f70f0",
    "piece1": "#e0902f",
    "piece2": "#b8f3e7",
    "warning": "#ff5f95",
}

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
    ".overlap": "fill:none;stroke-dasharray:1.4 1.8",
    ".corner,.cut": "stroke-width:1.6",
    ".over": "fill:none;stroke-width:3;stroke-dasharray:3 2",
    ".bend": "fill:none;stroke-width:1.4;stroke-dasharray:6 3",
    ".mesh": "fill:none;stroke-width:3;stroke-linejoin:round",
    ".ghost": "fill:none;stroke-width:1.6;stroke-dasharray:4 3",
    ".dot": "stroke-width:1.2",
}


_COLORS = {
    ".paper": "fill:{paper}",
    "text,.ink,.tab": "fill:{ink}",
    ".q": "fill:{quiet}",
    ".module,.inner": "fill:{module}",
    ".badge": "fill:{warning}",
    ".number,.corner,.cut": "fill:{paper}",
    ".module": "stroke:{seam}",
    ".rail": "stroke:{rail}",
    ".outline,.open,.overlap,.corner,.cut,.bend,.hatch,.mesh,.frame": "stroke:{ink}",
    ".line,.ghost": "stroke:{quiet}",
    ".under,.c1,.c2,.tab,.dot": "stroke:{paper}",
    ".over": "stroke:{warning}",
    ".p0": "stroke:{piece0}",
    ".p1": "stroke:{piece1}",
    ".p2": "stroke:{piece2}",
}


def stylesheet() -> str:
    """Return the style element; its rules apply to nothing outside of a drawing."""
    shapes, colors = _scoped(_SHAPES), _scoped(_COLORS)
    light, dark = (_fill_in(colors, palette) for palette in (LIGHT, DARK))
    return f"<style>{shapes}{light}@media screen and (prefers-color-scheme:dark){{{dark}}}</style>"


def _scoped(rules: dict[str, str]) -> str:
    return "".join(
        f".gapwright-plan {selector}{{{declarations}}}"
        for selectors, declarations in rules.items()
        for selector in selectors.split(",")
    )


def _fill_in(css: str, palette: dict[str, str]) -> str:
    for name, color in palette.items():
        css = css.replace(f"{{{name}}}", color)
    return css
