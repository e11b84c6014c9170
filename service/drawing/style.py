"""The style sheet inside a drawing: light by default and in print, dark on a dark screen."""

from __future__ import annotations

from functools import lru_cache

from service.drawing.palette import DARK, LIGHT, Colours

_FORMS = {
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
def style() -> str:
    """Return the style element. Its rules touch nothing outside of a drawing."""
    rules = "".join(f"{_within(names)}{{{form}}}" for names, form in _FORMS.items())
    dark = f"@media screen and (prefers-color-scheme:dark){{{_coloured(DARK)}}}"
    return f"<style>{rules}{_coloured(LIGHT)}{dark}</style>"


def _within(names: str) -> str:
    return ",".join(f".gapwright-plan {name}" for name in names.split(","))


def _coloured(colours: Colours) -> str:
    fills = {
        ".paper,.plate": colours.paper,
        "text,.ink,.tab": colours.ink,
        ".q": colours.quiet,
        ".module,.inner": colours.module,
        ".badge": colours.warning,
        ".number,.corner,.cut": colours.paper,
    }
    strokes = {
        ".module": colours.seam,
        ".rail": colours.rail,
        ".outline,.open,.lap,.corner,.cut,.bend,.hatch,.mesh,.frame": colours.ink,
        ".line,.ghost": colours.quiet,
        ".under,.c1,.c2,.tab,.dot": colours.paper,
        ".over": colours.warning,
    }
    strokes |= {f".p{n}": colour for n, colour in enumerate(colours.pieces)}
    told = [f"{_within(names)}{{fill:{colour}}}" for names, colour in fills.items()]
    told += [f"{_within(names)}{{stroke:{colour}}}" for names, colour in strokes.items()]
    return "".join(told)
