"""How plans, legend, section and remarks share a sheet."""

from __future__ import annotations

from collections.abc import Sequence

from service.drawing.block import Block, below, beside
from service.drawing.legend import COLUMN_PX, legend_block
from service.drawing.plan import Plan
from service.drawing.remarks import remarks_block
from service.drawing.signs import signs_told
from service.quantity.show import System

GAP_PX = 36.0
LEAST_PX = 760.0
_SIDE_PX = 380.0
_CLOSE_PX = 18.0
_LIKING = 0.9


def arranged(
    plans: Sequence[Plan],
    heads: Sequence[Block],
    section: Block | None,
    zones: Sequence[str],
    system: System,
) -> Block:
    """Return plans below each other, and all else beside or below them: the smaller sheet.

    Where both come out alike, beside: screens are wider than tall.
    """
    signs = signs_told([plan.signs for plan in plans], zones, system)
    lying = _lying(plans, heads, section, signs, zones)
    standing = _standing(plans, heads, section, signs, zones)
    return standing if standing.sheet_px * _LIKING <= lying.sheet_px else lying


def _lying(
    plans: Sequence[Plan],
    heads: Sequence[Block],
    section: Block | None,
    signs: dict[str, str],
    zones: Sequence[str],
) -> Block:
    """Return the legend and the section below all plans."""
    width = max(LEAST_PX, *(plan.block.width for plan in plans))
    free = width - (section.width + GAP_PX if section else 0)
    legend = legend_block(signs, zones, max(1, int(free // COLUMN_PX)))
    last = beside([legend, section] if section else [legend], GAP_PX)
    return below([*_told(plans, heads, width), last], GAP_PX)


def _standing(
    plans: Sequence[Plan],
    heads: Sequence[Block],
    section: Block | None,
    signs: dict[str, str],
    zones: Sequence[str],
) -> Block:
    """Return the section and the legend in a column of their own."""
    legend = legend_block(signs, zones, 1)
    column = [section, legend] if section else [legend]
    if len(plans) > 1:
        width = max(plan.block.width for plan in plans)
        left = below(_told(plans, heads, max(width, 480)), GAP_PX)
        return beside([left, below(column, GAP_PX)], 2 * GAP_PX)
    remarks = remarks_block(plans[0], _SIDE_PX)
    side = below([remarks, *column] if remarks.body else column, GAP_PX)
    return below([heads[0], beside([plans[0].block, side], 2 * GAP_PX)], _CLOSE_PX)


def _told(plans: Sequence[Plan], heads: Sequence[Block], width: float) -> list[Block]:
    """Return each plan with its head above and its remarks below it."""
    parts = []
    for head, plan in zip(heads, plans, strict=True):
        remarks = remarks_block(plan, width)
        whole = [head, plan.block, *([remarks] if remarks.body else [])]
        parts.append(below(whole, _CLOSE_PX))
    return parts
