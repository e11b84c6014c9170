"""Whole drawings: all planes of a job on one sheet, a plan on a printed page, the section."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from math import ceil

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.strips import Strip
from gapwright.calc.layout.warnings import some
from gapwright.calc.sizing import Sizing
from gapwright.drawing import svg
from gapwright.drawing.canvas import PageSize, canvases
from gapwright.drawing.labels import Numbered, disc
from gapwright.drawing.legend import COLUMN_PX, legend
from gapwright.drawing.plan import Plan, draw_plan
from gapwright.drawing.section import SHAPE, section_block
from gapwright.drawing.svg import MARGIN_PX, Block, columns, stack, text_block, wrap
from gapwright.quantity.show import System, long, short
from gapwright.rulesets.ruleset import RuleSet

_ONE_PLANE: PageSize = (1100, 800)
_SEVERAL_PLANES: PageSize = (860, 520)
"""How large the arrays of a plane may be on a screen."""
_GAP_PX = 36.0
_CLOSE_PX = 10.0
_MIN_WIDTH_PX = 1010.0
"""Room for the section next to a legend in two columns."""
_LISTED_PX = 170.0
_FOOT = (
    "Wind and structural loads need an engineer's review. Local codes, the fire code and the"
    " manufacturers' instructions take precedence."
)

_PAGE_PX: PageSize = (680.0, 860.0)
"""What is free on a printed page: the narrower and the lower of letter and A4."""
_SHARES = (0.77, 1.0)
"""The parts of a page that a plan may take."""
_MIN_RATIO, _MAX_RATIO = 50, 75
"""A larger plan shows nothing more; one smaller than 1:75 is worth more of the page."""
_MAX_TRIES = 14
_MAX_LISTED_PX = 150
_PRINTED_LINE_PX, _PRINTED_LETTERS = 14, 120
"""A line of a printed list: its height, and how many letters it has."""
_PRINTED_MARGIN_PX = 2.0
_MAX_SIDES_READ = 16
_FACINGS = {"eave": "eave", "ridge": "ridge", "left": "left side", "right": "right side"}


def draw_planes(
    planes: Sequence[LaidPlane], strips: Sequence[Strip], rules: RuleSet, system: System
) -> str:
    """Return the drawing of a job as one SVG document, its planes below each other.

    Each strip has its own section. If there are several, the heading lists the sides of each.
    """
    alone = len(planes) == 1
    size = _ONE_PLANE if alone else _SEVERAL_PLANES
    plans = [draw_plan(next(canvases(laid, rules, system, size))) for laid in planes]
    titles = [plane_title(laid, 0 if alone else n) for n, laid in enumerate(planes, 1)]
    width = max(_MIN_WIDTH_PX, *(plan.block.width for plan in plans))
    strip_lines = [_strip_line(strip, strips, planes, system) for strip in strips]
    names = [f" {strip.name}" if len(strips) > 1 else "" for strip in strips]
    blocks = [section_block(s.sizing, system, name) for s, name in zip(strips, names, strict=True)]
    sections = stack([block for block in blocks if block], _GAP_PX)
    drawn = "".join(plan.block.body for plan in plans)
    key = legend(drawn, planes, rules, system, width - sections.width - _GAP_PX)
    parts = [
        _page_head(strip_lines, rules, width),
        *(
            _with_remarks(title, laid, plan, rules, system, width)
            for title, laid, plan in zip(titles, planes, plans, strict=True)
        ),
        svg.side_by_side(key, sections, _GAP_PX),
        text_block(wrap(_FOOT, width), width, "t q"),
    ]
    about = [
        f"Scale plan of a wire-mesh barrier around a rooftop solar array, by {rules.name}.",
        *(f"{strip}." for strip in strip_lines),
        *(_describe(t, laid, rules, system) for t, laid in zip(titles, planes, strict=True)),
    ]
    title = f"Barrier plan, {', '.join(titles)}"
    return svg.document(stack(parts, _GAP_PX), title, " ".join(about), system)


def draw_section(sizing: Sizing, system: System, margin: float = MARGIN_PX) -> str | None:
    """Return the channel's section as an SVG document; None where there is no channel."""
    section = section_block(sizing, system)
    if section is None:
        return None
    description = f"{strip_text(sizing, system)}."
    return svg.document(section, f"Section of the {SHAPE}", description, system, margin)


def draw_printed_plan(
    laid: LaidPlane, rules: RuleSet, system: System
) -> tuple[str, Sequence[Numbered], bool]:
    """Return the plan of a plane with its legend, what its numbers stand for, and if both fit.

    They fit one page unless that list is too long. The plan is as large as fits a part of a page,
    or a whole page where it would get too small.
    """
    for page_height in (share * _PAGE_PX[1] for share in _SHARES):
        around = (0.0, 0.0)  # how much larger than its arrays a plan is
        usual = (c for c in canvases(laid, rules, system, _PAGE_PX) if c.scale.ratio >= _MIN_RATIO)
        for canvas in islice(usual, _MAX_TRIES):
            if canvas.width + around[0] > _PAGE_PX[0] or canvas.height + around[1] > page_height:
                continue
            plan = draw_plan(canvas)
            room = _PAGE_PX[0] - plan.block.width - _CLOSE_PX
            width = room if room >= COLUMN_PX else _PAGE_PX[0]
            key = legend(plan.block.body, [laid], rules, system, width)
            if width == room:
                block = svg.side_by_side(plan.block, key, _CLOSE_PX)
            else:
                block = stack([plan.block, key], _CLOSE_PX)
            listed_px = _listed_px(plan.numbered)
            is_short = listed_px <= _MAX_LISTED_PX
            height = block.height + (listed_px if is_short else 0)
            if block.width <= _PAGE_PX[0] and height <= page_height:
                break
            around = plan.block.width - canvas.width, height - canvas.height
        if plan.ratio <= _MAX_RATIO:
            break
    title = f"Plan, {plane_title(laid)}"
    about = _describe(plane_title(laid), laid, rules, system)
    return svg.document(block, title, about, system, _PRINTED_MARGIN_PX), plan.numbered, is_short


def _listed_px(numbered: Sequence[Numbered]) -> float:
    """Return about how high a printed list is."""
    warnings = [one for one in numbered if one.is_warning]
    letters = sum(len(one.text) + 6 for one in numbered if not one.is_warning)
    return _PRINTED_LINE_PX * (2 * len(warnings) + ceil(letters / _PRINTED_LETTERS))


def plane_title(laid: LaidPlane, number: int = 0) -> str:
    """Return the title of a plane. `number` is its position among several, 0 if it is alone."""
    if laid.plane.name:
        return f"roof plane {laid.plane.name}"
    return f"roof plane {number}" if number else "roof plane"


def plane_counts(laid: LaidPlane, rules: RuleSet, system: System) -> list[str]:
    """Return how many modules, pieces and so on a plane has, each as text."""
    runs = laid.runs
    cuts_nm = [named.piece.cut_nm for run in runs for named in run.pieces]
    standard = long(rules.values.piece_length, system, "down").text
    count = cuts_nm.count(rules.values.piece_length)
    counts = (
        (len(laid.plane.modules), "module", ""),
        (len(cuts_nm), "piece", f" ({count} at {standard})" if count else ""),
        (sum(len(run.layout.overlaps) for run in runs), "overlap", ""),
        (len(laid.corners), "corner", ""),
        (sum(len(run.placed.run.tabs_nm) for run in runs), "tab", ""),
        (sum(len(run.clips_nm) for run in runs), "clip", ""),
        (sum(len(run.layout.returns) for run in runs), "return", ""),
        (sum(len(run.placed.penetrations_nm) for run in runs), "penetration", ""),
    )
    parts = [f"{n} {noun}{'' if n == 1 else 's'}{more}" for n, noun, more in counts if n]
    if not runs:
        return [*parts, "no channel"]
    perimeter = long(sum(run.placed.run.length_nm for run in runs), system, "up").text
    return [*parts, f"{perimeter} of channel"]


def strip_text(sizing: Sizing, system: System) -> str:
    """Return the text for a strip and its channel, or why there is none."""
    if sizing.strip_nm.value is None:
        least = short(sizing.required_nm.value, system, "up").text
        return f"No stock strip is wide enough; {least} or more is needed"
    strip = f"Strip {short(sizing.strip_nm.value, system, 'down').text} wide"
    profile = sizing.profile.value
    if profile is None:
        return f"{strip}; the gap is too low for a channel"
    web = short(profile.web.nm, system, "down").text
    flange = short(profile.flange.nm, system, "up").text
    return f"{strip}, bent to a {SHAPE} with a web of {web} and two flanges of {flange}"


def _strip_line(
    strip: Strip, strips: Sequence[Strip], planes: Sequence[LaidPlane], system: System
) -> str:
    """Return the text of a strip, with its name and sides if there are several."""
    if len(strips) == 1:
        return strip_text(strip.sizing, system)
    names = [
        f"{side.name} ({laid.plane.name})" if len(planes) > 1 else side.name
        for laid in planes
        for side in laid.sides
        if side.strip == strip.name
    ]
    sides = f"{'side' if len(names) == 1 else 'sides'} {some(names)}"
    return f"{strip.name}: {strip_text(strip.sizing, system)}; {sides}"


def _describe(title: str, laid: LaidPlane, rules: RuleSet, system: System) -> str:
    """Return a description of a plane for people who cannot see its plan."""
    text = f"{_capitalized(title)}: {', '.join(plane_counts(laid, rules, system))}."
    # a longer list is too long to listen to
    if 0 < len(laid.sides) <= _MAX_SIDES_READ:
        sides = [
            f"{side.name} faces the {_FACINGS[side.facing]},"
            f" {long(side.length_nm, system, 'up').text}{', left open' if side.open else ''}"
            for side in laid.sides
        ]
        text += f" Sides: {'; '.join(sides)}."
    return text


def _capitalized(text: str) -> str:
    """Return text with its first letter in upper case, the others as they are."""
    return text[0].upper() + text[1:]


def _page_head(strip_lines: Sequence[str], rules: RuleSet, width: float) -> Block:
    """Return the title with the rule set, the start of its digest, and the strips."""
    title = Block(width=width, height=34, body=svg.text("Barrier plan", 22j, "big"))
    digest = rules.digest[: len("sha256:") + 12]
    named = text_block([f"Rules {rules.name}, digest {digest}"], width, "t q")
    lines = [line for one in strip_lines for line in wrap(one, width)]
    return stack([title, named, text_block(lines, width, "t b")], 0)


def _with_remarks(
    title: str, laid: LaidPlane, plan: Plan, rules: RuleSet, system: System, width: float
) -> Block:
    """Return a plan under its head and counts, and above what its numbers stand for."""
    name = Block(width=width, height=24, body=svg.text(_capitalized(title), 15j, "head"))
    counts = text_block(wrap(", ".join(plane_counts(laid, rules, system)), width), width)
    warnings, names = (
        columns(
            [_numbered(one, size) for one in plan.numbered if one.is_warning == is_warning], width
        )
        for is_warning, size in ((True, width), (False, _LISTED_PX))
    )
    remarks = svg.group("Remarks", stack([warnings, names], 12).body)
    listed = Block(width=width, height=warnings.height + 12 + names.height, body=remarks)
    return stack([stack([name, counts], 0), plan.block, listed], _CLOSE_PX)


def _numbered(one: Numbered, width: float) -> Block:
    """Return what a number on the plan stands for."""
    lines = text_block(wrap(one.text, width - 40), width)
    small = svg.text(str(one.number), 18 + 12j, "b small", anchor="end") if one.number else ""
    number = disc(10 + 9j, one.number) if one.is_warning else small
    body = number + svg.translate(28, lines.body)
    return Block(width=width, height=lines.height + 4, body=body)
