"""Plans that fit a printed page of a document, and one legend to all of them."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.layout.lay import LaidPlane
from service.drawing.descriptions import plane_counts, plane_title
from service.drawing.legend import COLUMN_PX, legend
from service.drawing.plan import Plan, draw_plan
from service.drawing.svg import Block, document
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_Size = tuple[float, float]
"""Width and height [px]."""

_PART_OF_PAGE = (0.82, 0.44)
"""The arrays as shares of the page, with room for what is printed before or after the plan."""
_WHOLE_PAGE = (0.88, 0.74)
_MAX_RATIO = 75
"""A plan smaller than 1:75 is worth a page of its own."""
_SHRINK = 0.82
_MAX_TRIES = 6
_MARGIN_PX = 2.0
_LEGEND_PX = COLUMN_PX - 18
"""A column of the legend without the gap to the next."""


class PrintedPlan(msgspec.Struct, frozen=True, kw_only=True):
    """One plan as an SVG document, the numbered callouts, and what is not labeled."""

    svg: str
    callouts: tuple[tuple[int, str], ...]
    notes: tuple[str, ...]


class PrintedPlans(msgspec.Struct, frozen=True, kw_only=True):
    """The plans of a job, and their legend as SVG: page-wide, and in one column."""

    plans: tuple[PrintedPlan, ...]
    legend: str
    narrow_legend: str


def draw_printed_plans(
    planes: Sequence[LaidPlane], rules: RuleSet, system: System, page: _Size
) -> PrintedPlans:
    """Return each plane at the largest usual scale at which it fits a page [px], and the legend.

    The last plan leaves room for the legend beside it if that fits. There is at least one plane.
    """
    plans = [_fit(laid, rules, system, page) for laid in planes]
    plans[-1] = _beside_legend(planes[-1], plans[-1], rules, system, page)
    symbols = [plan.symbols for plan in plans]
    wide = legend(symbols, max(1, int(page[0] // COLUMN_PX)), system)
    narrow = legend(symbols, 1, system)
    narrow = msgspec.structs.replace(narrow, width=_LEGEND_PX - 2 * _MARGIN_PX)
    return PrintedPlans(
        plans=tuple(
            _document(laid, plan, system) for laid, plan in zip(planes, plans, strict=True)
        ),
        legend=_legend_document(wide, system),
        narrow_legend=_legend_document(narrow, system),
    )


def _fit(laid: LaidPlane, rules: RuleSet, system: System, page: _Size) -> Plan:
    plan = _shrink_to_fit(laid, rules, system, page, _PART_OF_PAGE)
    if plan.ratio > _MAX_RATIO:
        plan = _shrink_to_fit(laid, rules, system, page, _WHOLE_PAGE)
    return plan


def _beside_legend(
    laid: LaidPlane, plan: Plan, rules: RuleSet, system: System, page: _Size
) -> Plan:
    """Return the plan at a smaller scale if that makes room for the legend beside it."""
    free = (page[0] - _LEGEND_PX, page[1])
    if plan.block.width <= free[0] or plan.ratio > _MAX_RATIO:
        return plan
    smaller = _shrink_to_fit(laid, rules, system, free, _PART_OF_PAGE)
    fits = smaller.ratio <= _MAX_RATIO and smaller.block.width <= free[0]
    return smaller if fits else plan


def _shrink_to_fit(
    laid: LaidPlane, rules: RuleSet, system: System, page: _Size, share: _Size
) -> Plan:
    """Return the plan with arrays so small that the labels around them fit the page as well."""
    width, height = page[0] * share[0], page[1] * share[1]
    for _ in range(_MAX_TRIES):
        plan = draw_plan(laid, rules, system, ((width, height),), bar_on_top=True)
        if plan.block.width <= page[0] and plan.block.height <= page[1]:
            break
        width, height = width * _SHRINK, height * _SHRINK
    return plan


def _document(laid: LaidPlane, plan: Plan, system: System) -> PrintedPlan:
    title = plane_title(laid)
    description = f"Plan to scale of {title}: {', '.join(plane_counts(laid, system))}."
    return PrintedPlan(
        svg=document(plan.block, f"Plan, {title}", description, system, _MARGIN_PX),
        callouts=tuple((one.number, one.text) for one in plan.callouts),
        notes=tuple(plan.notes),
    )


def _legend_document(block: Block, system: System) -> str:
    description = "The signs in the plans and what they mean."
    return document(block, "Legend", description, system, _MARGIN_PX)
