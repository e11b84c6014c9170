"""Whole drawings: all planes of a job on one sheet, plans that fit a printed page, the section."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.calc.layout.strips import Strip
from service.calc.sizing import Sizing
from service.drawing import svg
from service.drawing.callouts import callout_list
from service.drawing.canvas import ONE_PLANE, SEVERAL_PLANES
from service.drawing.descriptions import (
    describe_drawing,
    plane_counts,
    plane_title,
    strip_text,
    strip_texts,
)
from service.drawing.legend import COLUMN_PX, legend
from service.drawing.plan import Plan, draw_plan
from service.drawing.section import section_block
from service.drawing.svg import LINE_PX, MARGIN_PX, Block, side_by_side, stack, wrap, wrap_parts
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_GAP_PX = 36.0
_CLOSE_PX = 18.0
_MIN_WIDTH_PX = 760.0
_MIN_PLAN_WIDTH_PX = 480
_SIDE_COLUMN_PX = 380.0
_FOOT = (
    "Wind and structure are for an engineer's review. Local codes come first, and with them the"
    " fire code and the makers' instructions."
)


def draw_planes(
    planes: Sequence[LaidPlane], strips: Sequence[Strip], rules: RuleSet, system: System
) -> str:
    """Return the drawing of a job as one SVG document, its planes below each other.

    Each strip has its own section; where there are several, the head says which edges take which.
    """
    alone = len(planes) == 1
    sizes = ONE_PLANE if alone else SEVERAL_PLANES
    plans = [draw_plan(laid, rules, system, sizes) for laid in planes]
    titles = [plane_title(laid, 0 if alone else n) for n, laid in enumerate(planes, 1)]
    heads = [
        _plane_head(title, plane_counts(laid, system))
        for title, laid in zip(titles, planes, strict=True)
    ]
    body = _arrange(plans, heads, _sections(strips, system), system)
    width = max(body.width, _MIN_WIDTH_PX)
    strip_lines = strip_texts(strips, planes, system)
    whole = stack([_page_head(strip_lines, rules, width), body, _page_foot(width)], _GAP_PX)
    description = describe_drawing(planes, titles, strip_lines, rules, system)
    return svg.document(whole, f"Barrier plan, {', '.join(titles)}", description, system)


def draw_section(sizing: Sizing, system: System, margin: float = MARGIN_PX) -> str | None:
    """Return the channel's section as an SVG document; None where there is no channel."""
    section = section_block(sizing, system)
    if section is None:
        return None
    description = f"{strip_text(sizing, system)}."
    return svg.document(section, "Section of the channel", description, system, margin)


def _page_head(strip_lines: Sequence[str], rules: RuleSet, width: float) -> Block:
    """Return the title with the rule set, the start of its digest, and the strips."""
    digest = rules.digest[: len("sha256:") + 12]
    lines = [line for one in strip_lines for line in wrap(one, width)]
    body = (
        svg.text("Barrier plan", (0, 22), "big")
        + svg.text(f"Rules {rules.name}, digest {digest}", (0, 46), "t q")
        + svg.text_lines(lines, (0, 64), "t b")
    )
    return Block(width=width, height=68 + (len(lines) - 1) * LINE_PX, body=body)


def _page_foot(width: float) -> Block:
    lines = wrap(_FOOT, width)
    body = svg.text_lines(lines, (0, 12), "t q")
    return Block(width=width, height=len(lines) * LINE_PX, body=body)


def _plane_head(title: str, counts: Sequence[str]) -> Block:
    """Return the head of one plane: its name and its counts."""
    lines = wrap_parts(counts, ", ", _MIN_WIDTH_PX)
    name = svg.text(title[0].upper() + title[1:], (0, 15), "head")
    height = 20 + len(lines) * LINE_PX
    return Block(width=_MIN_WIDTH_PX, height=height, body=name + svg.text_lines(lines, (0, 36)))


def _sections(strips: Sequence[Strip], system: System) -> Block:
    """Return the sections of all channels below each other; may be empty."""
    names = [f" {strip.name}" if len(strips) > 1 else "" for strip in strips]
    blocks = [section_block(s.sizing, system, n) for s, n in zip(strips, names, strict=True)]
    return stack([block for block in blocks if block], _GAP_PX)


def _arrange(
    plans: Sequence[Plan],
    heads: Sequence[Block],
    sections: Block,
    system: System,
) -> Block:
    """Return legend and sections below the plans or in a column beside them: the smaller sheet.

    Where both come out about alike, beside: screens are wider than tall.
    """
    symbols = [plan.symbols for plan in plans]
    width = max(_MIN_WIDTH_PX, *(plan.block.width for plan in plans))
    free = width - (sections.width + _GAP_PX if sections.body else 0)
    wide_legend = legend(symbols, max(1, int(free // COLUMN_PX)), system)
    last = side_by_side([wide_legend, sections], _GAP_PX)
    below = stack([*_with_heads(plans, heads, width), last], _GAP_PX)

    column = [sections, legend(symbols, 1, system)]
    if len(plans) > 1:
        width = max(_MIN_PLAN_WIDTH_PX, *(plan.block.width for plan in plans))
        left = stack(_with_heads(plans, heads, width), _GAP_PX)
        beside = side_by_side([left, stack(column, _GAP_PX)], 2 * _GAP_PX)
    else:
        (plan,) = plans
        remarks = callout_list(plan.callouts, plan.notes, _SIDE_COLUMN_PX)
        both = side_by_side([plan.block, stack([remarks, *column], _GAP_PX)], 2 * _GAP_PX)
        beside = stack([heads[0], both], _CLOSE_PX)
    return beside if beside.sheet_px * 0.9 <= below.sheet_px else below


def _with_heads(plans: Sequence[Plan], heads: Sequence[Block], width: float) -> list[Block]:
    """Return each plan with its head above and its remarks below it."""
    return [
        stack([head, plan.block, callout_list(plan.callouts, plan.notes, width)], _CLOSE_PX)
        for head, plan in zip(heads, plans, strict=True)
    ]
