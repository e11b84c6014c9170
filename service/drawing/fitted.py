"""Plans that fit a printed page of a document: plans and legend apart, without head and foot."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.layout.lay import LaidPlane
from service.drawing.ground import marked_zones
from service.drawing.legend import COLUMN_PX, legend_block
from service.drawing.page import document
from service.drawing.plan import Plan, plan_of
from service.drawing.signs import signs_told
from service.drawing.told import counted, title_of
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_LOW = (0.82, 0.44)
"""The field of an array as shares of the page, with room for what stands before or after it."""
_TALL = (0.88, 0.74)
_LEAST_RATIO = 75
"""A scale finer than this is worth a page of its own."""
_SMALLER = 0.82
_MOST_TRIES = 6
_MARGIN_PX = 2.0
_LEGEND_PX = COLUMN_PX - 18
"""A column of the legend without the gap to the next."""


class FittedPlan(msgspec.Struct, frozen=True, kw_only=True):
    """One plan as an SVG document, what to look at by the numbers on it, and what it leaves out."""

    svg: str
    findings: tuple[tuple[int, str], ...]
    notes: tuple[str, ...]


class Fitted(msgspec.Struct, frozen=True, kw_only=True):
    """The plans of a job, and the legend to all of them as SVG documents."""

    plans: tuple[FittedPlan, ...]
    legend: str
    """As wide as the page."""
    narrow_legend: str
    """In one column, to stand beside a plan."""


def draw_fitted(
    planes: Sequence[LaidPlane], rules: RuleSet, system: System, page: tuple[float, float]
) -> Fitted:
    """Return each plane at the largest usual scale at which it fits a page [px], and the legend.

    The legend stands after the last plan, or beside it where that fits; there is at least one plan.
    """
    plans = [_fitted(laid, rules, system, page) for laid in planes]
    plans[-1] = _beside_legend(planes[-1], plans[-1], rules, system, page)
    zones = marked_zones(rules)
    signs = signs_told([plan.signs for plan in plans], zones, system)
    wide = max(1, int(page[0] // COLUMN_PX))
    legends = [legend_block(signs, zones, columns) for columns in (wide, 1)]
    drawn = [_drawn(laid, plan, system) for laid, plan in zip(planes, plans, strict=True)]
    about = "The signs in the plans and what they mean."
    legends[1] = msgspec.structs.replace(legends[1], width=_LEGEND_PX - 2 * _MARGIN_PX)
    told = [document(legend, "Legend", about, system, _MARGIN_PX) for legend in legends]
    return Fitted(plans=tuple(drawn), legend=told[0], narrow_legend=told[1])


def _fitted(laid: LaidPlane, rules: RuleSet, system: System, page: tuple[float, float]) -> Plan:
    """Return the plan at the largest usual scale at which it fits, lettering included."""
    plan = _smaller(laid, rules, system, page, _LOW)
    if plan.ratio > _LEAST_RATIO:
        plan = _smaller(laid, rules, system, page, _TALL)
    return plan


def _beside_legend(
    laid: LaidPlane, plan: Plan, rules: RuleSet, system: System, page: tuple[float, float]
) -> Plan:
    """Return the plan one size smaller, where that makes room for the legend beside it."""
    left = (page[0] - _LEGEND_PX, page[1])
    if plan.block.width <= left[0] or plan.ratio > _LEAST_RATIO:
        return plan
    smaller = _smaller(laid, rules, system, left, _LOW)
    fits = smaller.ratio <= _LEAST_RATIO and smaller.block.width <= left[0]
    return smaller if fits else plan


def _smaller(
    laid: LaidPlane,
    rules: RuleSet,
    system: System,
    page: tuple[float, float],
    share: tuple[float, float],
) -> Plan:
    """Return the plan in a field that shrinks until its lettering fits beside it as well."""
    wide, high = page[0] * share[0], page[1] * share[1]
    for _ in range(_MOST_TRIES):
        plan = plan_of(laid, rules, system, ((wide, high),), low=True)
        if plan.block.width <= page[0] and plan.block.height <= page[1]:
            break
        wide, high = wide * _SMALLER, high * _SMALLER
    return plan


def _drawn(laid: LaidPlane, plan: Plan, system: System) -> FittedPlan:
    title = title_of(laid, 0)
    about = f"Plan to scale of {title}: {', '.join(counted(laid, system))}."
    return FittedPlan(
        svg=document(plan.block, f"Plan, {title}", about, system, _MARGIN_PX),
        findings=tuple((finding.number, finding.text) for finding in plan.findings),
        notes=tuple(plan.notes),
    )
