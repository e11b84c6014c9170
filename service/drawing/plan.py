"""The plan of one roof plane: everything on the array, and everything about it."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.layout.lay import LaidPlane
from service.drawing.bands import draw_bands, draw_overlong
from service.drawing.block import Block, below
from service.drawing.dimensions import bar_block, draw_overall, draw_slope, keep_clear
from service.drawing.edges import name_edges
from service.drawing.findings import Finding, draw_signs, findings_of
from service.drawing.ground import draw_ground, marked_zones
from service.drawing.label import drawn
from service.drawing.marks import draw_corners, draw_penetrations, draw_starts, draw_tabs
from service.drawing.names import name_pieces
from service.drawing.room import Room
from service.drawing.scale import Fields
from service.drawing.sheet import Sheet, sheet_of
from service.drawing.signs import Signs, signs_on
from service.drawing.svg import group, moved
from service.drawing.told import naming_notes
from service.drawing.traced import TracedRun, trace
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet

_RIDGE_PX = 80.0
"""Half of what the words at the ridge take."""


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A plan as a block, the signs on it, and what is to be said beside it."""

    block: Block
    signs: Signs
    findings: Sequence[Finding]
    notes: Sequence[str]
    ratio: int
    """The scale is one to this."""


def plan_of(
    laid: LaidPlane, rules: RuleSet, system: System, fields: Fields, *, low: bool = False
) -> Plan:
    """Return the plan of a laid-out roof plane, its array in one of the fields.

    A `low` plan has its scale bar beside the ridge's arrow where there is room, else below as ever.
    """
    sheet = sheet_of(laid, system, fields)
    zones = marked_zones(rules)
    runs = [trace(run, sheet, system) for run in laid.runs]
    room = Room()
    findings = findings_of(laid, runs, sheet, system)
    channel = _channel(laid, runs, sheet, room)
    keep_clear(sheet, room)
    signs = draw_signs(findings, room)
    named = [name_pieces(run, room) for run in runs]
    edges, unnamed = name_edges(laid, sheet, system, room)
    labels = [label for one in named for label in one.labels]
    names = [group("Names of edges", drawn(edges)), group("Names of pieces", drawn(labels))]
    overall = draw_overall(sheet, system, room)
    slope = draw_slope(sheet, room)
    body = [*draw_ground(laid, sheet, zones), *channel, *names, signs, overall, slope]
    return Plan(
        block=_framed(body, sheet, room, low=low),
        signs=signs_on(laid, runs, sheet, zones, named),
        findings=findings,
        notes=naming_notes(named, unnamed),
        ratio=sheet.scale.ratio,
    )


def _channel(laid: LaidPlane, runs: Sequence[TracedRun], sheet: Sheet, room: Room) -> list[str]:
    """Return the channel with all signs on it, lowest first."""
    return [
        *draw_bands(runs, sheet, room),
        *draw_overlong(runs, sheet, room),
        draw_tabs(laid, sheet, room),
        *draw_corners(laid, sheet, room),
        draw_penetrations(laid, sheet, room),
        draw_starts(runs, sheet, room),
    ]


def _framed(body: Sequence[str], sheet: Sheet, room: Room, *, low: bool) -> Block:
    """Return the plan moved so that nothing lies left of or above its corner; the bar below."""
    left, top, right, bottom = room.extent()
    left, top = min(left, 0), min(top, 0)
    plan = Block(width=right - left, height=bottom - top, body=[moved(-left, -top, body)])
    if low:
        bar = bar_block(sheet, sheet.scale.text)
        if bar.width <= sheet.width_px / 2 - left - _RIDGE_PX:
            body = [*plan.body, moved(0, 4, bar.body)]
            return msgspec.structs.replace(plan, height=plan.height + 8, body=body)
    return below([plan, bar_block(sheet, f"{sheet.scale.text} when printed at full size")], 16)
