"""Small pieces of SVG text: numbers, escaped words, lines and lettering."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Dot = tuple[float, float]
"""A place on the page, in CSS pixels, y downwards."""

_ALLOWED_CONTROLS = "\t\n\r"
_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})


def escaped(text: str) -> str:
    """Return text as it may stand in XML, between tags or in an attribute.

    Characters that XML 1.0 forbids are left out.
    """
    if not text.isprintable():
        text = "".join(letter for letter in text if _in_xml(letter))
    return text.translate(_ESCAPES)


def _in_xml(letter: str) -> bool:
    code = ord(letter)
    if code < 0x20:
        return letter in _ALLOWED_CONTROLS
    return not (0xD800 <= code <= 0xDFFF or code in (0xFFFE, 0xFFFF))


def num(value: float) -> str:
    """Return a number with one decimal, which is a quarter of a thousandth of an inch on paper."""
    text = f"{value:.1f}"
    if text.endswith(".0"):
        return text[:-2] if text != "-0.0" else "0"
    return text


def trail(dots: Iterable[Dot], *, closed: bool = False) -> str:
    """Return path data that goes from dot to dot."""
    steps = "L".join(f"{num(x)} {num(y)}" for x, y in dots)
    return f"M{steps}Z" if closed else f"M{steps}"


def path(data: str, kind: str, title: str = "") -> str:
    """Return a path of a class; the title is what a pointer shows and a screen reader says."""
    if title:
        return f'<path class="{kind}" d="{data}"><title>{escaped(title)}</title></path>'
    return f'<path class="{kind}" d="{data}"/>'


def group(label: str, body: Sequence[str], more: str = "") -> str:
    """Return a group with its name for screen readers; nothing where the group is empty."""
    if not body:
        return ""
    return f'<g role="group" aria-label="{escaped(label)}"{more}>{"".join(body)}</g>'


def moved(x: float, y: float, body: Iterable[str]) -> str:
    """Return a group moved to a place on the page."""
    return f'<g transform="translate({num(x)} {num(y)})">{"".join(body)}</g>'


def words(
    text: str,
    at: Dot,
    kind: str = "t",
    anchor: str = "start",
    turn: float = 0,
    *,
    more: str = "",
) -> str:
    """Return lettering that stands on a place: `anchor` start, middle or end, turned clockwise.

    `more` follows the text in plain letters, where the text itself is bold.
    """
    x, y = at
    where = f'x="{num(x)}" y="{num(y)}"'
    if turn:
        where += f' transform="rotate({num(turn)} {num(x)} {num(y)})"'
    if anchor != "start":
        where += f' text-anchor="{anchor}"'
    rest = ""
    if more:
        # some programs that read SVG drop a space before lettering of another kind
        where += ' xml:space="preserve"'
        rest = f'<tspan class="plain">{escaped(more)}</tspan>'
    return f'<text class="{kind}" {where}>{escaped(text)}{rest}</text>'
