"""Whole drawings: one roof plane or several on one sheet, and the channel's section alone."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.calc.sizing import Sizing
from service.drawing.block import Block, below, beside
from service.drawing.findings import sign
from service.drawing.ground import marked_zones
from service.drawing.legend import COLUMN_PX, legend_block
from service.drawing.lettering import LINE_PX, joined, wrapped
from service.drawing.page import document
from service.drawing.plan import Plan, plan_of
from service.drawing.section import section_block
from service.drawing.svg import group, words
from service.drawing.told import counted, strip_words
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_GAP_PX = 36.0
_LEAST_PX = 760.0
_SIDE_PX = 380.0
_FOOT = (
    "Wind and structure are for an engineer's review. Local codes, the fire code and the makers'"
    " instructions come first."
)


def draw_plane(laid: LaidPlane, sizing: Sizing, rules: RuleSet, system: System) -> str:
    """Return the drawing of one roof plane as an SVG document."""
    return draw_planes([laid], sizing, rules, system)


def draw_planes(planes: Sequence[LaidPlane], sizing: Sizing, rules: RuleSet, system: System) -> str:
    """Return the drawing of a job as one SVG document, its planes below each other."""
    plans = [plan_of(laid, rules, system, alone=len(planes) == 1) for laid in planes]
    section = section_block(sizing, system)
    single = len(plans) == 1
    zones = marked_zones(rules)
    titles = [_title(laid, number, single) for number, laid in enumerate(planes, 1)]
    told = [_head(title, laid, system) for title, laid in zip(titles, planes, strict=True)]
    if single and plans[0].tall:
        body = _standing(plans[0], told[0], section, zones)
    else:
        body = _lying(plans, told, section, zones)
    width = max(body.width, _LEAST_PX)
    head = _page_head(sizing, rules, system, width)
    foot = _lines(wrapped(_FOOT, width), "t q", width)
    whole = below([head, body, foot], _GAP_PX)
    label = "Barrier plan, " + ", ".join(titles)
    return document(whole, label, _described(planes, titles, sizing, rules, system), system)


def draw_section(sizing: Sizing, system: System) -> str | None:
    """Return the channel's section as an SVG document; None where there is no channel."""
    section = section_block(sizing, system)
    if section is None:
        return None
    return document(section, "Section of the channel", strip_words(sizing, system) + ".", system)


def _standing(plan: Plan, told: Block, section: Block | None, zones: Sequence[str]) -> Block:
    """Return a tall plan with all else beside it."""
    legend = legend_block(plan.signs, zones, 1)
    side = [_remarks(plan, _SIDE_PX), section, legend]
    column = below([block for block in side if block and block.body], _GAP_PX)
    return below([told, beside([plan.block, column], 2 * _GAP_PX)], 18)


def _lying(
    plans: Sequence[Plan], told: Sequence[Block], section: Block | None, zones: Sequence[str]
) -> Block:
    """Return plans below each other, and the legend and the section below them all."""
    width = max(_LEAST_PX, *(plan.block.width for plan in plans))
    parts = []
    for head, plan in zip(told, plans, strict=True):
        remarks = _remarks(plan, width)
        parts.append(below([head, plan.block, *([remarks] if remarks.body else [])], 18))
    signs: dict[str, str] = {}
    for plan in plans:
        signs |= plan.signs
    free = width - (section.width + _GAP_PX if section else 0)
    legend = legend_block(signs, zones, max(1, int(free // COLUMN_PX)))
    last = beside([legend, section] if section else [legend], _GAP_PX)
    return below([*parts, last], _GAP_PX)


def _title(laid: LaidPlane, number: int, single: bool) -> str:
    if laid.plane.name:
        return f"roof plane {laid.plane.name}"
    return "roof plane" if single else f"roof plane {number}"


def _head(title: str, laid: LaidPlane, system: System) -> Block:
    lines = joined(counted(laid, system), ", ", 1000)
    body = [words(title[0].upper() + title[1:], (0, 15), "head")]
    body += [words(line, (0, 36 + n * LINE_PX), "t") for n, line in enumerate(lines)]
    return Block(width=_LEAST_PX, height=20 + len(lines) * LINE_PX, body=body)


def _page_head(sizing: Sizing, rules: RuleSet, system: System, width: float) -> Block:
    digest = rules.digest[: len("sha256:") + 12]
    body = [
        words("Barrier plan", (0, 22), "big"),
        words(f"Rules {rules.name}, digest {digest}", (0, 46), "t q"),
        words(strip_words(sizing, system), (0, 64), "t b"),
    ]
    return Block(width=width, height=68, body=body)


def _remarks(plan: Plan, width: float) -> Block:
    """Return what a person must look at, by number, and what the plan leaves unnamed."""
    body: list[str] = []
    y = 0.0
    if plan.findings:
        body.append(words("To look at", (0, 15), "head"))
        y = 24
    for finding in plan.findings:
        body.append(sign((10, y + 12), finding.number))
        for line in wrapped(finding.text, width - 40):
            body.append(words(line, (28, y + 16)))
            y += LINE_PX
        y += 6
    for note in plan.notes:
        for line in wrapped(note, width):
            body.append(words(line, (0, y + 14), "t q"))
            y += LINE_PX
    return Block(width=width, height=y, body=[group("Remarks", body)] if body else [])


def _lines(lines: Sequence[str], kind: str, width: float) -> Block:
    body = [words(line, (0, 12 + n * LINE_PX), kind) for n, line in enumerate(lines)]
    return Block(width=width, height=len(lines) * LINE_PX, body=body)


def _described(
    planes: Sequence[LaidPlane],
    titles: Sequence[str],
    sizing: Sizing,
    rules: RuleSet,
    system: System,
) -> str:
    """Return the drawing in words, for those who do not see it."""
    parts = [
        f"Plan to scale of a wire-mesh barrier round a rooftop solar array, by {rules.name}.",
        strip_words(sizing, system) + ".",
    ]
    for title, laid in zip(titles, planes, strict=True):
        parts.append(f"{title[0].upper()}{title[1:]}: {', '.join(counted(laid, system))}.")
    return " ".join(parts)
