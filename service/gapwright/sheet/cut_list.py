"""Channel sections, plans, cut list and cut plan of the crew sheet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.marks import Mark
from gapwright.calc.layout.result import mark_length
from gapwright.calc.quote.compute import JobFigures
from gapwright.calc.quote.job import Job
from gapwright.drawing import draw_printed_plan, draw_section, plane_counts, plane_title
from gapwright.quantity.output import RunUp
from gapwright.quantity.show import System, long
from gapwright.rulesets.ruleset import RuleSet
from gapwright.sheet import texts
from gapwright.sheet.printable import breakable

Answer = dict[str, Any]
"""The result of a quote, as JSON data."""

_SECTION_MARGIN_PX = 2.0


def channel_sections(
    job: Job, figures: JobFigures, answer: Answer, system: System
) -> list[dict[str, Any]]:
    """Return a section for each strip, as a drawing and as figures.

    If drawn planes take several strips, each has its name from the cut list.
    """
    several = len(job.drawn.strips) > 1 if job.drawn else False
    return [
        {
            "name": sizing["layout_strip"] or "" if several else "",
            "arrays": ", ".join(_arrays_of(job, sizing)),
            "svg": _sheet_font(draw_section(strip.sizing, system, _SECTION_MARGIN_PX)),
        }
        for strip, sizing in zip(figures.strips, answer["sizing"], strict=True)
    ]


def _arrays_of(job: Job, sizing: dict[str, Any]) -> Iterator[str]:
    """Yield the arrays that take a strip, with their sides if the plane takes several strips."""
    planes = {laid.plane.name: laid for laid in job.laid}
    for name in sizing["arrays"]:
        sides = planes[name].sides if name in planes else ()
        own = [side.name for side in sides if side.strip == sizing["layout_strip"]]
        several = len({side.strip for side in sides if not side.open}) > 1
        yield f"{breakable(name)} ({', '.join(own)})" if several else breakable(name)


def _sheet_font(svg: str | None) -> str | None:
    """Return a drawing in the sheet's own font; only its style is changed."""
    if svg is None:
        return None
    head, end, body = svg.partition("</style>")
    return head.replace("sans-serif", "'Source Sans Pro'") + end + body


def plans_and_cuts(job: Job, answer: Answer, rules: RuleSet, system: System) -> dict[str, Any]:
    """Return the drawings, the cut list and the cut plan of the planes that are drawn."""
    titles = _plane_titles(job)
    planes = job.laid
    sides = {tab.rail_side for plane in planes for run in plane.runs for tab in run.placed.tabs}
    return {
        "plans": [
            _plan(title, plane, rules, system)
            for title, plane in zip(titles.values(), planes, strict=True)
        ],
        "cut_list": _cut_list(job, answer, titles, rules, system),
        "tab_sides": sorted(sides),
        "rolls": list(_rolls(answer)),
        "titles": titles,
    }


def _plan(title: str, plane: LaidPlane, rules: RuleSet, system: System) -> dict[str, Any]:
    drawn, numbered = draw_printed_plan(plane, rules, system)
    return {
        "title": title,
        "counts": ", ".join(plane_counts(plane, rules, system)),
        "svg": _sheet_font(drawn),
        "alt": f"Plan of {plane_title(plane)}, with its legend",
        "numbered": [msgspec.to_builtins(one) for one in numbered],
    }


def _plane_titles(job: Job) -> dict[str, str]:
    """Return what each drawn plane is called on the sheet, by its name in the layout."""
    titles: dict[str, str] = {}
    for laid in job.laid:
        name = breakable(laid.plane.name)
        same = [t for t in titles.values() if t == name or t.startswith(f"{name} (")]
        titles[laid.plane.name] = f"{name} ({len(same) + 1})" if same else name
    return titles


def _cut_list(
    job: Job, answer: Answer, titles: dict[str, str], rules: RuleSet, system: System
) -> list[dict[str, Any]]:
    """Return the pieces of each plane in installation order, with their marks.

    Those of standard length are also counted as a group. If there are several channels, each piece
    names its own.
    """
    standard_nm = rules.values.piece_length
    rolls = {
        (piece["plane"], piece["piece"]): f"roll {number}"
        for number, roll in enumerate(_rolls(answer), 1)
        for piece in roll["pieces"]
    }
    several = len({run.strip for laid in job.laid for run in laid.runs}) > 1
    length = long(standard_nm, system, "down").text
    tables = []
    for (plane, title), laid in zip(titles.items(), job.laid, strict=True):
        rows = [
            {
                "name": named.name,
                "sides": ", ".join(dict.fromkeys(mark.side for mark in named.marks))
                + (f"; channel {run.strip}" if several else ""),
                "roll": rolls.get((plane, named.name), "no roll"),
                "cut": RunUp(named.piece.cut_nm).text(system),
                "standard": named.piece.cut_nm == standard_nm,
                "marks": [
                    {"at": mark_length(mark).text(system), "what": _mark_word(mark)}
                    for mark in named.marks
                ],
            }
            for run in laid.runs
            for named in run.pieces
        ]
        if rows:
            tables.append({"title": title, "standard": length, "pieces": rows})
    return tables


def _mark_word(mark: Mark) -> str:
    if mark.kind == "corner":
        return texts.INSIDE_CORNER if mark.inside else texts.OUTSIDE_CORNER
    return texts.TAB_BESIDE if mark.upright else texts.MARKS[mark.kind]


def _rolls(answer: Answer) -> Iterator[dict[str, Any]]:
    """Yield the rolls of all strip widths in the order of their numbers, each with its width."""
    for part in answer["bill"]["cut_plans"] if answer["bill"] else ():
        for roll in part["cut_plan"]["rolls"]:
            yield {"width": part["strip_width"]["text"], **roll}
