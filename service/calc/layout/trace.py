"""Which rules the figures of a layout follow from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.bill import Bill
from service.calc.layout.lay import LaidPlane
from service.calc.layout.plane import InferredRails
from service.calc.layout.strips import Strip
from service.calc.sizing_trace import sizing_trace
from service.calc.trace import Step
from service.rulesets.ruleset import RuleSet

Rules = tuple[str, ...]

_OUTLINE = ("values.join_gap",)
_RETURNS = ("values.return_leg", "values.return_tab", "values.return_reach")
_PIECES = ("tape_grid", "piece_length", "least_piece", "lap_off_corner", "lap_off_tab")
WIDTH = ("values.strip_margin", "values.stocked_widths")
_NOTES = ("values.hand_gap", "values.near_gap", "values.penetration_reach", *WIDTH)


class LayoutCites(msgspec.Struct, frozen=True, kw_only=True):
    """The rules that the parts of a layout follow from: those that had a say in this one."""

    outline: Rules
    edges: Rules
    tabs: Rules
    penetrations: Rules
    pieces: Rules
    lap_rings: Rules
    lap_ties: Rules


def cites_of(planes: Sequence[LaidPlane], strips: Sequence[Strip], rules: RuleSet) -> LayoutCites:
    """Return what the parts of a layout follow from.

    Rules on inferred rails have no say where the rails were told, those on penetrations none
    where there are none, and a zone's own value only where an edge lies in the zone. Where
    readings were told by edge, their sizing says where one strip ends and another begins.
    """
    zones = sorted({edge.zone for plane in planes for edge in plane.edges if not edge.open})
    outline = _outline(planes)
    tabs = _once(outline, *(_rails(plane) for plane in planes))
    found = any(plane.plane.penetrations for plane in planes)
    penetrations = (*outline, "values.penetration_reach") if found else outline
    by_edge = {one.readings_nm for strip in strips for one in strip.told}
    sized = _once(*(step.cites for step in _sized(strips, rules))) if len(by_edge) > 1 else ()
    pieces = _once(
        tabs,
        sized,
        _RETURNS if any(plane.rails for plane in planes) else (),
        tuple(f"values.{name}" for name in _PIECES),
        _zoned("lap", zones, rules),
        _zoned("longest_span", zones, rules),
        (*penetrations, "values.lap_off_penetration") if found else (),
    )
    return LayoutCites(
        outline=outline,
        edges=_once(outline, sized),
        tabs=tabs,
        penetrations=penetrations,
        pieces=pieces,
        lap_rings=_once(pieces, _zoned("lap_rings", zones, rules)),
        lap_ties=_once(pieces, _zoned("lap_ties", zones, rules)),
    )


def layout_trace(cites: LayoutCites, strips: Sequence[Strip], rules: RuleSet) -> tuple[Step, ...]:
    """Return a step for each part of a layout, with the rules that have a say in it."""
    packs = tuple(f"{item.rule}.pack" for item in rules.bill if item.measured and item.pack)[:1]
    return (
        Step("/perimeter", cites.outline),
        *(step for step in _sized(strips[:1], rules) if step.figure != "/advice"),
        Step("/strips", _once(*(step.cites for step in _sized(strips, rules)), cites.pieces)),
        Step("/edges", cites.edges),
        Step("/pieces", cites.pieces),
        Step("/laps", cites.pieces),
        Step("/tabs", cites.tabs),
        Step("/returns", cites.pieces),
        Step("/counts/perimeter", cites.outline),
        Step("/counts/cut_mesh", cites.pieces),
        Step("/counts/pieces", cites.pieces),
        Step("/counts/laps", cites.pieces),
        Step("/counts/corners", cites.edges),
        Step("/counts/tabs", cites.tabs),
        Step("/counts/returns", cites.pieces),
        Step("/counts/penetrations", cites.penetrations),
        Step("/counts/rolls", _once(cites.pieces, packs, WIDTH)),
        Step("/cut_plan", _once(cites.pieces, packs, WIDTH)),
        Step("/conditions", _once(cites.pieces, _NOTES)),
        Step("/geometry", cites.pieces),
    )


def counted_trace(
    counted: Bill, thumb: Bill, cites: LayoutCites, rules: RuleSet
) -> tuple[Step, ...]:
    """Return the steps of a counted bill: what its drivers follow from is cited as well.

    Each line has a step for the thumb rules' figure that stands beside it.
    """
    follows = _drivers(cites)
    for item in rules.bill:
        follows[item.id] = _once(*(follows.get(need.driver, ()) for need in item.counted))
    by_rule = {line.item.id: at for at, line in enumerate(thumb.lines)}
    judged = {step.figure: step.cites for step in thumb.trace}
    steps = []
    for step in counted.trace:
        line = counted.lines[int(step.figure.split("/")[2])].item.id
        steps.append(Step(step.figure, _once(step.cites, follows[line])))
    for at, counted_line in enumerate(counted.lines):
        beside = by_rule.get(counted_line.item.id)
        own = judged.get(f"/lines/{beside}/quantity", (counted_line.item.rule,))
        steps.append(Step(f"/lines/{at}/thumb_rule", _once(own, cites.outline)))
    return tuple(steps)


def _outline(planes: Sequence[LaidPlane]) -> Rules:
    """Return the rules of the outlines; by the marks of the tape turned modules are in line."""
    turned = any(plane.turned for plane in planes)
    return (*_OUTLINE, "values.tape_grid") if turned else _OUTLINE


def _rails(plane: LaidPlane) -> Rules:
    """Return the rules by which the rails of a plane were inferred."""
    told = plane.plane.rails
    if not isinstance(told, InferredRails):
        return ()
    asked = {
        "values.rails_per_row": told.per_row,
        "values.rail_inset": told.inset,
        "values.rail_overhang": told.overhang_nm,
    }
    return tuple(rule for rule, given in asked.items() if given is None)


def _zoned(value: str, zones: Sequence[str], rules: RuleSet) -> Rules:
    """Return where a value comes from in some zones: of their own, or the standard one."""
    return _once(
        *(
            (f"zones.{zone}.values.{value}",)
            if value in rules.zones[zone].changed
            else (f"values.{value}",)
            for zone in zones
        )
    )


def _sized(strips: Sequence[Strip], rules: RuleSet) -> Iterator[Step]:
    for strip in strips:
        for step in sizing_trace(strip.sizing, rules.values):
            if step.figure == "/strip/width":
                yield Step("/strip_width", step.cites)
            elif step.figure.startswith(("/profile", "/advice")):
                yield step


def counted_follows(cites: LayoutCites) -> tuple[tuple[str, str], ...]:
    """Return what a layout counts, each with a rule that it follows from."""
    drivers = {**_drivers(cites), "arrays": cites.outline}
    return tuple((driver, rule) for driver, rules in drivers.items() for rule in rules)


def _drivers(cites: LayoutCites) -> dict[str, Rules]:
    return {
        "perimeter": cites.outline,
        "mesh_length": cites.outline,
        "corners": cites.edges,
        "penetrations": cites.penetrations,
        "tabs": cites.tabs,
        "cut_mesh": cites.pieces,
        "pieces": cites.pieces,
        "laps": cites.pieces,
        "returns": cites.pieces,
        "lap_rings": cites.lap_rings,
        "lap_ties": cites.lap_ties,
    }


def _once(*parts: Rules) -> Rules:
    """Return the rules of several parts, each once."""
    return tuple(dict.fromkeys(rule for part in parts for rule in part))
