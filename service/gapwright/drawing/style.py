"""Colors and the style sheet of a drawing.

Colors are chosen so that neighbors also differ for people who see no red or no green, and in
gray: the three colors of pieces lie far apart in lightness as well. Every line keeps a contrast of
3 : 1 to the paper, and all text 4.5 : 1 (the thresholds of WCAG 2.2, 1.4.11 and 1.4.3).
tests/unit/drawing/test_style.py computes all of that.
"""

from __future__ import annotations

PALETTE = {
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
PATTERNS = (
    '<defs><pattern id="zone0" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<circle class="ink" cx="3" cy="3" r="1.3"/></pattern>'
    '<pattern id="zone1" width="6" height="6" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><path class="hatch" d="M3 0V6"/></pattern>'
    '<pattern id="zone2" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<path class="hatch" d="M0 3.5H7M3.5 0V7"/></pattern></defs>'
)
"""What zones are filled with: dots, slanted lines, a grid."""

_RULES = {
    "text": "font:12px sans-serif;fill:{ink}",
    ".big": "font:bold 22px sans-serif",
    ".head": "font:bold 15px sans-serif",
    ".b": "font-weight:bold",
    ".small": "font-size:10px",
    ".far": "font:bold 12px sans-serif;letter-spacing:1.5px",
    ".q": "fill:{quiet}",
    ".number,.paper": "fill:{paper}",
    ".ink": "fill:{ink}",
    ".badge": "fill:{warning}",
    ".inner": "fill:{module}",
    ".module": "fill:{module};stroke:{seam}",
    ".rail": "fill:none;stroke:{rail};stroke-dasharray:8 3",
    ".line": "fill:none;stroke:{quiet}",
    ".outline": "fill:none;stroke:{ink}",
    ".open": "fill:none;stroke:{ink};stroke-width:1.6;stroke-dasharray:2 4",
    ".p0,.p1,.p2,.c1,.c2": "fill:none;stroke:{paper};stroke-miterlimit:6",
    ".p0": "stroke:{piece0}",
    ".p1": "stroke:{piece1}",
    ".p2": "stroke:{piece2}",
    ".c2": "stroke-dasharray:2.5 6",
    ".under": "fill:none;stroke:{paper}",
    ".overlap": "fill:none;stroke:{ink};stroke-dasharray:1.4 1.8",
    ".clip": "fill:{ink};stroke:{paper}",
    ".tab": "fill:{ink};stroke:{paper}",
    ".corner,.cut": "fill:{paper};stroke:{ink};stroke-width:1.6",
    ".dot": "stroke:{paper};stroke-width:1.2",
    ".over": "fill:none;stroke:{warning}",
    ".hatch,.frame": "stroke:{ink}",
    ".bend": "fill:none;stroke:{ink};stroke-width:1.4;stroke-dasharray:6 3",
    ".mesh": "fill:none;stroke:{ink};stroke-width:3;stroke-linejoin:round",
    ".ghost": "fill:none;stroke:{quiet};stroke-width:1.6;stroke-dasharray:4 3",
}


def stylesheet() -> str:
    """Return the style element; its rules apply to nothing outside of a drawing."""
    css = "".join(
        f".gapwright-plan {selector}{{{declarations.format_map(PALETTE)}}}"
        for selectors, declarations in _RULES.items()
        for selector in selectors.split(",")
    )
    return f"<style>{css}</style>"
