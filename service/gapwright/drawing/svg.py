"""Write SVG: elements, text and its width, blocks of a page, and the document around them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from xml.sax import saxutils
from zlib import crc32

import msgspec

from gapwright.drawing.style import PATTERNS, stylesheet
from gapwright.quantity.show import System

PagePoint = complex
"""A point on the page [px], or a vector: x to the right, the imaginary part downward."""

PX_PER_IN = 96
TEXT_PX = 12
SMALL_PX = 10
LINE_PX = 17
MARGIN_PX = 40.0
_MM_PER_IN = 25.4

# Text widths [em]. No font is embedded and a reader's may be any sans-serif: these are of a wide
# one, so that text never comes out wider than the space that it was given.
_EM = dict.fromkeys(" .,:;'|!iljI", 0.33)
_EM |= dict.fromkeys("ftr()/-[]", 0.42)
_EM |= dict.fromkeys("mwMW%@", 0.98)
_EM |= dict.fromkeys("ABCDEFGHJKLNOPQRSTUVXYZ=+<>", 0.72)
_OTHER_EM = 0.64
_BOLD = 1.1

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def escape(text: str) -> str:
    """Return text fit for XML content or an attribute, without characters XML 1.0 forbids."""
    return saxutils.escape(_NOT_XML.sub("", text), {'"': "&quot;", "'": "&#39;"})


def number(value: float) -> str:
    """Return a number with at most one decimal: 0.1 px is 0.001 in on paper."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def element(tag: str, *children: str, **attributes: str | float) -> str:
    """Return an element; `stroke_width` becomes `stroke-width`, `class_` becomes `class`."""
    pairs = []
    for name, value in attributes.items():
        text = escape(value) if isinstance(value, str) else number(value)
        pairs.append(f' {name.rstrip("_").replace("_", "-")}="{text}"')
    body = "".join(children)
    start = f"<{tag}{''.join(pairs)}"
    return f"{start}>{body}</{tag}>" if body else f"{start}/>"


def path(kind: str, data: str, *, title: str = "", **attributes: str | float) -> str:
    """Return a path of a CSS class, with a title that screen readers read; "" without data."""
    if not data:
        return ""
    titles = [element("title", escape(title))] if title else []
    return element("path", *titles, class_=kind, **attributes, d=data)


def circle(kind: str, center: PagePoint, radius: float) -> str:
    """Return a circle of a CSS class."""
    return element("circle", class_=kind, cx=center.real, cy=center.imag, r=radius)


def group(label: str, *children: str) -> str:
    """Return a group with a name for screen readers; empty text if nothing is in it."""
    body = "".join(children)
    return element("g", body, role="group", aria_label=label) if body else ""


def translate(to: PagePoint, body: str, rotation: float = 0) -> str:
    """Return a group moved to a place on the page, and rotated clockwise about it [degrees]."""
    rotate = f" rotate({number(rotation)})" if rotation else ""
    return element("g", body, transform=f"translate({number(to.real)} {number(to.imag)}){rotate}")


def text(content: str, at: PagePoint, kind: str = "t", *, anchor: str = "start") -> str:
    """Return text on a baseline point."""
    attributes: dict[str, str | float] = {"class_": kind, "x": at.real, "y": at.imag}
    if anchor != "start":
        attributes["text_anchor"] = anchor
    return element("text", escape(content), **attributes)


def polyline(points: Iterable[PagePoint], *, closed: bool = False) -> str:
    """Return path data of straight lines from point to point."""
    steps = "L".join(f"{number(point.real)} {number(point.imag)}" for point in points)
    return f"M{steps}Z" if closed else f"M{steps}"


def polylines(lines: Iterable[Iterable[PagePoint]], *, closed: bool = False) -> str:
    """Return path data of several polylines."""
    return "".join(polyline(line, closed=closed) for line in lines)


def text_width(text: str, size: float = TEXT_PX, *, bold: bool = False) -> float:
    """Return the width of text in a wide sans-serif font [px]."""
    em = sum(_EM.get(char, _OTHER_EM) for char in text)
    return em * size * (_BOLD if bold else 1)


def wrap(text: str, width: float, size: float = TEXT_PX) -> list[str]:
    """Return text in lines at most `width` wide [px]; a word wider than that is not broken."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


class Block(msgspec.Struct, frozen=True, kw_only=True):
    """A part of a page, drawn from its upper left corner, and its size [px]."""

    width: float
    height: float
    body: str = ""


def text_block(lines: Sequence[str], width: float, kind: str = "t", step: float = LINE_PX) -> Block:
    """Return lines of text below each other as a block."""
    body = "".join(text(line, complex(0, TEXT_PX + n * step), kind) for n, line in enumerate(lines))
    return Block(width=width, height=len(lines) * step, body=body)


def stack(blocks: Sequence[Block], gap: float) -> Block:
    """Return blocks below each other as one; empty blocks are left out."""
    body, y, width = "", 0.0, 0.0
    for block in blocks:
        if block.body:
            body += translate(complex(0, y), block.body)
            y += block.height + gap
            width = max(width, block.width)
    return Block(width=width, height=max(y - gap, 0), body=body)


def side_by_side(left: Block, right: Block, gap: float) -> Block:
    """Return two blocks next to each other as one."""
    return Block(
        width=left.width + gap + right.width,
        height=max(left.height, right.height),
        body=left.body + translate(complex(left.width + gap, 0), right.body),
    )


def columns(rows: Sequence[Block], width: float, gap: float = 12) -> Block:
    """Return rows of one width in as many columns of about the same height as fit a width."""
    step = max((row.width for row in rows), default=0) + gap
    count = max(1, min(int((width + gap) // step), len(rows)))
    column_height = sum(row.height for row in rows) / count
    body, x, y, tallest = "", 0.0, 0.0, 0.0
    for row in rows:
        if y and y + row.height / 2 > column_height and x < (count - 1) * step:
            x, y = x + step, 0.0
        body += translate(complex(x, y), row.body)
        y += row.height
        tallest = max(tallest, y)
    return Block(width=count * step - gap, height=tallest, body=body)


def document(
    block: Block, title: str, description: str, system: System, margin: float = MARGIN_PX
) -> str:
    """Return a whole SVG document. Its size on paper is true, so that a print is to scale.

    Title and description have ids of their own, so that a page may hold several drawings.
    """
    key = f"{crc32(escape(description).encode()):08x}"
    width, height = block.width + 2 * margin, block.height + 2 * margin
    per_px, unit = (1 / PX_PER_IN, "in") if system == "imperial" else (_MM_PER_IN / PX_PER_IN, "mm")
    drawing = element(
        "svg",
        element("title", escape(title), id=f"title-{key}"),
        element("desc", escape(description), id=f"desc-{key}"),
        stylesheet(),
        PATTERNS,
        element("rect", class_="paper", width=width, height=height),
        translate(complex(margin, margin), block.body),
        xmlns="http://www.w3.org/2000/svg",
        class_="gapwright-plan",
        role="img",
        aria_labelledby=f"title-{key} desc-{key}",
        width=f"{width * per_px:.3f}{unit}",
        height=f"{height * per_px:.3f}{unit}",
        viewBox=f"0 0 {number(width)} {number(height)}",
    )
    return f"{drawing}\n"
