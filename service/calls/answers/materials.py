"""A bill of materials as a caller reads it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

import msgspec

from service.calc.bill import Bill, Line, Packs
from service.calc.estimate import Estimate
from service.calls.answers.sizing import AdviceAnswer, show_advice
from service.quantity.show import Length, System, long, short
from service.rulesets.ruleset import Tool

if TYPE_CHECKING:  # geometry is read in when a layout is first asked for
    from service.calc.layout.counts import WidthPlan
    from service.calc.layout.strips import Strip

Unit = Literal["each", "in", "ft", "mm", "m"]


class PacksAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What is bought: how many packs, what one holds, and what is left over."""

    count: int
    name: str
    holds: float
    left_over: float
    unit: Unit


class PartAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How much of an item one need takes, and the rule that says so."""

    need: str
    quantity: float
    rule: str


class LineAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One line of the bill. `length` and `rolls` stand where the item is mesh.

    `thumb_rule` stands where a layout was counted: what the thumb rules say, in the same unit.
    """

    item: str
    description: str
    quantity: float
    unit: Unit
    packs: PacksAnswer | None
    parts: tuple[PartAnswer, ...]
    rule: str
    thumb_rule: float | msgspec.UnsetType = msgspec.UNSET
    length: Length | msgspec.UnsetType = msgspec.UNSET
    rolls: int | msgspec.UnsetType = msgspec.UNSET


class ToolAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A tool for the job."""

    tool: str
    description: str


class ToolsAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What the job needs in the hand, and what helps."""

    needed: tuple[ToolAnswer, ...]
    helpful: tuple[ToolAnswer, ...]


class StripLength(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How much of one width of strip a layout takes."""

    strip_width: Length
    length: Length
    rolls: int


class MaterialsAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The bill of materials, by thumb rules from a perimeter or as a layout counts it.

    `strip_width` is null, and there are no lines, where no stocked strip is wide enough, be it for
    some edges of a layout only; `advice` says what to do where none fits snugly. `strips` stands
    where a layout takes strips of several widths: the mesh by width, none without lines.
    """

    perimeter: Length
    strip_width: Length | None
    advice: tuple[AdviceAnswer, ...]
    lines: tuple[LineAnswer, ...]
    tools: ToolsAnswer
    strips: tuple[StripLength, ...] | msgspec.UnsetType = msgspec.UNSET


def show_materials(found: Estimate, perimeter_nm: int, system: System) -> MaterialsAnswer:
    """Return a bill in the caller's units."""
    strip, sizing, bill = found.strip_nm, found.sizing, found.bill
    return MaterialsAnswer(
        perimeter=long(perimeter_nm, system, "up"),
        strip_width=short(strip, system, "down") if strip is not None else None,
        advice=tuple(show_advice(a, system) for a in sizing.advice) if sizing else (),
        lines=tuple([show_line(line, system) for line in bill.lines]),
        tools=show_tools(bill.tools),
    )


def show_counted_materials(
    counted: Bill,
    thumb: Estimate,
    perimeter_nm: int,
    strips: Sequence[Strip],
    plans: Sequence[WidthPlan],
    system: System,
) -> MaterialsAnswer:
    """Return a counted bill with the thumb rules' figures beside it, and its mesh by width.

    The advice is that of each of the layout's strips.
    """
    shown = show_materials(thumb, perimeter_nm, system)
    told = dict.fromkeys(advice for strip in strips for advice in strip.sizing.advice)
    several = len({strip.sizing.strip_nm for strip in strips}) > 1
    by_rule = {line.item: line.quantity for line in shown.lines}
    lines = tuple(
        msgspec.structs.replace(line, thumb_rule=by_rule.get(line.item, 0))
        for line in (show_line(line, system) for line in counted.lines)
    )
    return msgspec.structs.replace(
        shown,
        advice=tuple(show_advice(advice, system) for advice in told),
        lines=lines,
        strips=tuple(_strip(each, system) for each in plans) if several else msgspec.UNSET,
    )


def _strip(each: WidthPlan, system: System) -> StripLength:
    assert each.strip_nm is not None
    cut = sum(piece.length_nm for roll in each.plan.rolls for piece in roll.pieces)
    return StripLength(
        strip_width=short(each.strip_nm, system, "down"),
        length=long(cut, system, "up"),
        rolls=len(each.plan.rolls),
    )


def show_line(line: Line, system: System) -> LineAnswer:
    """Return a line of a bill in the caller's units."""
    return _mesh_line(line, system) if line.item.measured else _count_line(line)


def _count_line(line: Line) -> LineAnswer:
    packs = line.packs
    return LineAnswer(
        item=line.item.id,
        description=line.item.description,
        quantity=line.quantity,
        unit="each",
        packs=_packs(packs, packs.holds, packs.left_over, "each") if packs else None,
        parts=tuple(
            [PartAnswer(need=p.need, quantity=p.quantity, rule=p.rule) for p in line.parts]
        ),
        rule=line.item.rule,
    )


def _mesh_line(line: Line, system: System) -> LineAnswer:
    packs = line.packs
    length = long(line.quantity, system, "up")
    unit = length.unit

    def amount(nm: int) -> float:
        return long(nm, system, "up").value

    return LineAnswer(
        item=line.item.id,
        description=line.item.description,
        quantity=length.value,
        unit=unit,
        packs=_packs(packs, amount(packs.holds), amount(packs.left_over), unit) if packs else None,
        parts=tuple(
            PartAnswer(need=p.need, quantity=amount(p.quantity), rule=p.rule) for p in line.parts
        ),
        rule=line.item.rule,
        length=length,
        rolls=packs.count if packs else msgspec.UNSET,
    )


def _packs(packs: Packs, holds: float, left_over: float, unit: Unit) -> PacksAnswer:
    return PacksAnswer(
        count=packs.count, name=packs.name, holds=holds, left_over=left_over, unit=unit
    )


def show_tools(tools: tuple[Tool, ...]) -> ToolsAnswer:
    """Return the tools for a job, the needed ones and the helpful ones."""

    def of(need: str) -> tuple[ToolAnswer, ...]:
        chosen = [tool for tool in tools if tool.need == need]
        return tuple(ToolAnswer(tool=t.id, description=t.description) for t in chosen)

    return ToolsAnswer(needed=of("needed"), helpful=of("helpful"))
