"""Whole drawings: all planes of a job on one sheet, a plan on a printed page, the section."""

from __future__ import annotations

from collections.abc import Sequence

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.strips import Strip
from gapwright.calc.sizing import Sizing
from gapwright.drawing import svg
from gapwright.drawing.callouts import callout_list
from gapwright.drawing.canvas import ONE_PLANE, SEVERAL_PLANES
from gapwright.drawing.descriptions import (
    capitalized,
    describe_drawing,
    plane_counts,
    plane_title,
    strip_text,
    strip_texts,
)
from gapwright.drawing.legend import COLUMN_PX, legend
from gapwright.drawing.plan import Plan, draw_plan
from gapwright.drawing.section import section_block
from gapwright.drawing.svg import MARGIN_PX, Block, side_by_side, stack, wrap
from gapwright.quantity.show import System
from gapwright.rulesets.ruleset import RuleSet

_GAP_PX = 36.0
_CLOSE_PX = 18.0
_MIN_WIDTH_PX = 1010.0
"""Room for the section next to a legend in two columns."""
_FOOT = (
    "Wind and structural loads need an engineer's review. Local codes, the fire code and the"
    " manufacturers' instructions take precedence."
)

_PAGE_PX = (680.0, 860.0)
"""What is free on a printed page: the narrower and the lower of letter and A4."""
_PRINTED_MARGIN_PX = 2.0
_BESIDE_LEGEND_PX = (_PAGE_PX[0] - COLUMN_PX - 2 * _PRINTED_MARGIN_PX, _PAGE_PX[1])
_PART_OF_PAGE = (0.82, 0.44)
"""The arrays as shares of the page, with room for other text before or after the plan."""
_WHOLE_PAGE = (0.88, 0.74)
_PRINTED_SIZES = (
    (_BESIDE_LEGEND_PX, _PART_OF_PAGE),
    (_PAGE_PX, _PART_OF_PAGE),
    (_PAGE_PX, _WHOLE_PAGE),
)
_MAX_RATIO = 75
"""A plan smaller than 1:75 is worth more of the page."""
_SHRINK = 0.82
_MAX_TRIES = 6


def draw_planes(
    planes: Sequence[LaidPlane], strips: Sequence[Strip], rules: RuleSet, system: System
) -> str:
    """Return the drawing of a job as one SVG document, its planes below each other.

    Each strip has its own section. If there are several, the heading lists the sides of each.
    """
    alone = len(planes) == 1
    plans = [
        draw_plan(laid, rules, system, ONE_PLANE if alone else SEVERAL_PLANES) for laid in planes
    ]
    titles = [plane_title(laid, 0 if alone else n) for n, laid in enumerate(planes, 1)]
    width = max(_MIN_WIDTH_PX, *(plan.block.width for plan in plans))
    strip_lines = strip_texts(strips, planes, system)
    sections = _sections(strips, system)
    free = width - sections.width - _GAP_PX if sections.body else width
    whole = stack(
        [
            _page_head(strip_lines, rules, width),
            *(
                stack([_plane_head(title, laid, system), _with_remarks(plan, width)], _CLOSE_PX)
                for title, laid, plan in zip(titles, planes, plans, strict=True)
            ),
            side_by_side([legend(planes, rules, system, free), sections], _GAP_PX),
            svg.text_block(wrap(_FOOT, width), width, "t q"),
        ],
        _GAP_PX,
    )
    description = describe_drawing(planes, titles, strip_lines, rules, system)
    return svg.document(whole, f"Barrier plan, {', '.join(titles)}", description, system)


def draw_section(sizing: Sizing, system: System, margin: float = MARGIN_PX) -> str | None:
    """Return the channel's section as an SVG document; None where there is no channel."""
    section = section_block(sizing, system)
    if section is None:
        return None
    description = f"{strip_text(sizing, system)}."
    return svg.document(section, "Section of the channel", description, system, margin)


def draw_printed_plan(
    laid: LaidPlane, rules: RuleSet, system: System, *, beside_legend: bool
) -> tuple[str, Plan]:
    """Return the plan of a plane at the largest usual scale at which it fits a printed page.

    `beside_legend` leaves room for the legend next to it, unless the plan gets too small.
    """
    for page, share in _PRINTED_SIZES[0 if beside_legend else 1 :]:
        plan = _shrink_to_fit(laid, rules, system, page, share)
        if plan.ratio <= _MAX_RATIO:
            break
    title = plane_title(laid)
    description = f"Scale plan of {title}: {', '.join(plane_counts(laid, system))}."
    drawn = svg.document(plan.block, f"Plan, {title}", description, system, _PRINTED_MARGIN_PX)
    return drawn, plan


def draw_printed_legend(planes: Sequence[LaidPlane], rules: RuleSet, system: System) -> str:
    """Return the legend to the printed plans of a job, in one column."""
    block = legend(planes, rules, system, COLUMN_PX)
    description = "Symbols used in the plans."
    return svg.document(block, "Legend", description, system, 0)


def _shrink_to_fit(
    laid: LaidPlane,
    rules: RuleSet,
    system: System,
    page: tuple[float, float],
    share: tuple[float, float],
) -> Plan:
    """Return the plan with arrays so small that the labels around them fit the page as well."""
    width, height = page[0] * share[0], page[1] * share[1]
    for _ in range(_MAX_TRIES):
        plan = draw_plan(laid, rules, system, (width, height))
        if plan.block.width <= page[0] and plan.block.height <= page[1]:
            break
        width, height = width * _SHRINK, height * _SHRINK
    return plan


def _page_head(strip_lines: Sequence[str], rules: RuleSet, width: float) -> Block:
    """Return the title with the rule set, the start of its digest, and the strips."""
    title = Block(width=width, height=34, body=svg.text("Barrier plan", (0, 22), "big"))
    digest = rules.digest[: len("sha256:") + 12]
    named = svg.text_block([f"Rules {rules.name}, digest {digest}"], width, "t q")
    lines = [line for one in strip_lines for line in wrap(one, width)]
    return stack([title, named, svg.text_block(lines, width, "t b")], 0)


def _plane_head(title: str, laid: LaidPlane, system: System) -> Block:
    """Return the head of one plane: its name and its counts."""
    name = Block(width=_MIN_WIDTH_PX, height=24, body=svg.text(capitalized(title), (0, 15), "head"))
    counts = wrap(", ".join(plane_counts(laid, system)), _MIN_WIDTH_PX)
    return stack([name, svg.text_block(counts, _MIN_WIDTH_PX)], 0)


def _with_remarks(plan: Plan, width: float) -> Block:
    return stack([plan.block, callout_list(plan.callouts, plan.notes, width)], _CLOSE_PX)


def _sections(strips: Sequence[Strip], system: System) -> Block:
    """Return the sections of all channels below each other; may be empty."""
    names = [f" {strip.name}" if len(strips) > 1 else "" for strip in strips]
    blocks = [section_block(s.sizing, system, n) for s, n in zip(strips, names, strict=True)]
    return stack([block for block in blocks if block], _GAP_PX)
