"""Whole drawings: one roof plane or several on one sheet, and the channel's section alone."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.calc.sizing import Sizing
from service.drawing.arrange import GAP_PX, LEAST_PX, arranged
from service.drawing.block import Block, below
from service.drawing.ground import marked_zones
from service.drawing.lettering import LINE_PX, joined, wrapped
from service.drawing.page import MARGIN_PX, document
from service.drawing.plan import plan_of
from service.drawing.scale import FIELDS, SHARED_FIELDS
from service.drawing.section import section_block
from service.drawing.svg import words
from service.drawing.told import counted, described, strip_words, title_of
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_FOOT = (
    "Wind and structure are for an engineer's review. Local codes come first, and with them the"
    " fire code and the makers' instructions."
)


def draw_plane(laid: LaidPlane, sizing: Sizing, rules: RuleSet, system: System) -> str:
    """Return the drawing of one roof plane as an SVG document."""
    return draw_planes([laid], sizing, rules, system)


def draw_planes(planes: Sequence[LaidPlane], sizing: Sizing, rules: RuleSet, system: System) -> str:
    """Return the drawing of a job as one SVG document, its planes below each other."""
    alone = len(planes) == 1
    fields = FIELDS if alone else SHARED_FIELDS
    plans = [plan_of(laid, rules, system, fields) for laid in planes]
    titles = [title_of(laid, 0 if alone else at) for at, laid in enumerate(planes, 1)]
    counts = [counted(laid, system) for laid in planes]
    heads = [_head(title, told) for title, told in zip(titles, counts, strict=True)]
    body = arranged(plans, heads, section_block(sizing, system), marked_zones(rules))
    width = max(body.width, LEAST_PX)
    foot = _lines(wrapped(_FOOT, width), width)
    whole = below([_page_head(sizing, rules, system, width), body, foot], GAP_PX)
    about = described(planes, titles, sizing, rules, system)
    return document(whole, f"Barrier plan, {', '.join(titles)}", about, system)


def draw_section(sizing: Sizing, system: System, margin: float = MARGIN_PX) -> str | None:
    """Return the channel's section as an SVG document; None where there is no channel."""
    section = section_block(sizing, system)
    if section is None:
        return None
    about = f"{strip_words(sizing, system)}."
    return document(section, "Section of the channel", about, system, margin)


def _head(title: str, counts: Sequence[str]) -> Block:
    """Return the head of one plane: its name and what it comes to."""
    lines = joined(counts, ", ", LEAST_PX)
    body = [words(title[0].upper() + title[1:], (0, 15), "head")]
    body += [words(line, (0, 36 + n * LINE_PX)) for n, line in enumerate(lines)]
    return Block(width=LEAST_PX, height=20 + len(lines) * LINE_PX, body=body)


def _page_head(sizing: Sizing, rules: RuleSet, system: System, width: float) -> Block:
    """Return the title with the rule set, its digest in short, and the strip."""
    digest = rules.digest[: len("sha256:") + 12]
    body = [
        words("Barrier plan", (0, 22), "big"),
        words(f"Rules {rules.name}, digest {digest}", (0, 46), "t q"),
        words(strip_words(sizing, system), (0, 64), "t b"),
    ]
    return Block(width=width, height=68, body=body)


def _lines(lines: Sequence[str], width: float) -> Block:
    body = [words(line, (0, 12 + n * LINE_PX), "t q") for n, line in enumerate(lines)]
    return Block(width=width, height=len(lines) * LINE_PX, body=body)
