"""The conditions of a layout in words."""

from __future__ import annotations

from collections.abc import Iterator

from service.calc.layout.conditions import TOO_NARROW, Condition, conditions_of
from service.calc.layout.lay import LaidPlane
from service.calls.answers.layout import ConditionAnswer, Spot
from service.quantity.show import Safe, System, long

_TEXTS = {
    "overlong_span": "The channel runs {size} here without being fixed to a rail{name}; fix it in"
    " another way, with the makers' consent.",
    "crowded_laps": "There is no better place for a lap here: it comes nearer to a corner, tab or"
    " penetration than the rule asks.",
    "no_layout": "No pieces could be laid along the run {name}.",
    "rails_unknown": "No rails could be inferred{name}; tell them, or say that there are none.",
    "penetration_away": "A penetration here is too far from any edge to be cut out of the channel.",
    "penetration_at_open_edge": "A penetration here is nearest to edge {name}, which is left open:"
    " nothing is cut out for it.",
    "unknown_edge": "There is no edge {name}; what was told of it has no effect.",
    "strips_meet": "Two strips meet at the corner where edge {name} begins: no piece runs round it;"
    " close the joint there.",
    "uneven_edges": "Edges shorter than a mark of the tape: {name}, the shortest {size}. Each end"
    " of one is a corner; give modules that stand in line places in line.",
    "hole_too_narrow": "A hole is only {size} wide: too narrow for a hand. Decide whether it is"
    " closed across or left out.",
    "slot_too_narrow": "A slot is only {size} wide: too narrow for a hand. Decide whether it is"
    " closed across.",
    "arrays_near": "Two arrays are only {size} apart; one barrier round both may do.",
    "touching_at_corner": "Two arrays, or a hole and the outside, touch at a corner only.",
    "overlap_within_rounding": "Modules overlap or are out of line by up to {size}, as where"
    " coordinates were rounded; they are taken to touch and to be in line.",
}


def show_conditions(laid: LaidPlane, system: System) -> Iterator[ConditionAnswer]:
    """Yield what a person must look at in the layout of one plane, in words."""
    for condition in conditions_of(laid):
        yield ConditionAnswer(
            kind=condition.kind,
            text=_text(condition, system),
            plane=laid.plane.name,
            place=_place(condition, system),
        )


def _text(condition: Condition, system: System) -> str:
    safe: Safe = "down" if condition.kind in TOO_NARROW else "up"
    size = long(condition.size_nm, system, safe).text
    return _TEXTS[condition.kind].format(size=size, name=condition.name)


def _place(condition: Condition, system: System) -> Spot | None:
    if condition.place is None:
        return None
    x, y = condition.place
    return Spot(x=long(x, system, "down"), y=long(y, system, "down"))
