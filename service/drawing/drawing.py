"""Whole drawings: one roof plane or several on one sheet, and the channel's section alone."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.calc.layout.strips import Strip
from service.calc.sizing import Sizing
from service.drawing.arrange import GAP_PX, LEAST_PX, arranged
from service.drawing.block import Block, below
from service.drawing.ground import marked_zones
from service.drawing.lettering import LINE_PX, joined, wrapped
from service.drawing.page import MARGIN_PX, document
from service.drawing.plan import plan_of
from service.drawing.scale import FIELDS, SHARED_FIELDS
from service.drawing.section import section_block
from service.drawing.strips import strip_words, strips_told
from service.drawing.svg import words
from service.drawing.told import counted, described, title_of
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_FOOT = (
    "Wind and structure are for an engineer's review. Local codes come first, and with them the"
    " fire code and the makers' instructions."
)


def draw_plane(laid: LaidPlane, sizing: Sizing, rules: RuleSet, system: System) -> str:
    """Return the drawing of one roof plane as an SVG document."""
    return draw_planes([laid], [Strip(name="", sizing=sizing, told=())], rules, system)


def draw_planes(
    planes: Sequence[LaidPlane], strips: Sequence[Strip], rules: RuleSet, system: System
) -> str:
    """Return the drawing of a job as one SVG document, its planes below each other.

    Each strip has its own section; where there are several, the head says which edges take which.
    """
    alone = len(planes) == 1
    fields = FIELDS if alone else SHARED_FIELDS
    plans = [plan_of(laid, rules, system, fields) for laid in planes]
    titles = [title_of(laid, 0 if alone else at) for at, laid in enumerate(planes, 1)]
    counts = [counted(laid, system) for laid in planes]
    heads = [_head(title, told) for title, told in zip(titles, counts, strict=True)]
    body = arranged(plans, heads, _sections(strips, system), marked_zones(rules), system)
    width = max(body.width, LEAST_PX)
    told = strips_told(strips, planes, system)
    foot = _lines(wrapped(_FOOT, width), width)
    whole = below([_page_head(told, rules, width), body, foot], GAP_PX)
    about = described(planes, titles, told, rules, system)
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


def _sections(strips: Sequence[Strip], system: System) -> Block | None:
    """Return the sections of all channels below each other; None where there is none."""
    names = [f" {strip.name}" if len(strips) > 1 else "" for strip in strips]
    blocks = [section_block(s.sizing, system, n) for s, n in zip(strips, names, strict=True)]
    found = [block for block in blocks if block is not None]
    return below(found, GAP_PX) if found else None


def _page_head(told: Sequence[str], rules: RuleSet, width: float) -> Block:
    """Return the title with the rule set, its digest in short, and the strips."""
    digest = rules.digest[: len("sha256:") + 12]
    lines = [line for one in told for line in wrapped(one, width)]
    body = [
        words("Barrier plan", (0, 22), "big"),
        words(f"Rules {rules.name}, digest {digest}", (0, 46), "t q"),
        *(words(line, (0, 64 + n * LINE_PX), "t b") for n, line in enumerate(lines)),
    ]
    return Block(width=width, height=68 + (len(lines) - 1) * LINE_PX, body=body)


def _lines(lines: Sequence[str], width: float) -> Block:
    body = [words(line, (0, 12 + n * LINE_PX), "t q") for n, line in enumerate(lines)]
    return Block(width=width, height=len(lines) * LINE_PX, body=body)
