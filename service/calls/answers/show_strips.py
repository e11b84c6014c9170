"""Show the strips of a layout, and how their rolls are cut, in the caller's units."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.calc.layout.counts import WidthPlan
from service.calc.layout.strips import Strip, Told
from service.calc.rolls import CutRoll
from service.calls.answers.layout import (
    ConditionAnswer,
    CutPieceAnswer,
    CutPlanAnswer,
    LaidStrip,
    RollAnswer,
    ToldReadings,
)
from service.calls.answers.sizing import show_advice, show_clearance, show_profile
from service.quantity.show import Length, System, long, short


def show_strip(strip: Strip, system: System) -> LaidStrip:
    """Return a strip, its channel, and the readings it was sized for."""
    sizing = strip.sizing
    return LaidStrip(
        strip=strip.name,
        width=_width(sizing.strip_nm, system),
        profile=show_profile(sizing.channel, system) if sizing.channel else None,
        clearance=show_clearance(sizing.clearance, system),
        told=show_told(strip.told, system),
        advice=tuple(show_advice(advice, system) for advice in sizing.advice),
    )


def show_told(told: Sequence[Told], system: System) -> tuple[ToldReadings, ...]:
    """Return readings with where they were told."""
    return tuple(
        ToldReadings(
            plane=one.plane,
            place=one.place,
            readings=tuple(short(nm, system, "up") for nm in one.readings_nm),
        )
        for one in told
    )


def unfitted(strips: Sequence[Strip], system: System) -> Iterator[ConditionAnswer]:
    """Yield the strips for which none that is stocked is wide enough, in words."""
    for strip in strips:
        if strip.sizing.strip_nm is None:
            least = short(strip.sizing.required_nm, system, "up").text
            text = (
                f"No stocked strip is wide enough for {strip.name}: it must be at least {least}."
                " No roll is counted or cut for its pieces."
            )
            yield ConditionAnswer(kind="no_strip", text=text, plane="")


def show_plans(plans: Sequence[WidthPlan], system: System) -> CutPlanAnswer:
    """Return how the rolls of all widths are cut."""
    return CutPlanAnswer(
        rolls=tuple(
            _roll(roll, each.strip_nm, system) for each in plans for roll in each.plan.rolls
        ),
        optimal=all(each.plan.optimal for each in plans),
        bound=sum(each.plan.bound for each in plans),
    )


def _roll(roll: CutRoll, width_nm: int | None, system: System) -> RollAnswer:
    assert width_nm is not None
    pieces = []
    for piece in roll.pieces:
        plane, _, name = piece.label.partition(":")
        pieces.append(
            CutPieceAnswer(
                piece=name,
                plane=plane,
                start=long(piece.start_nm, system, "down"),
                length=long(piece.length_nm, system, "up"),
            )
        )
    return RollAnswer(
        length=long(roll.length_nm, system, "down"),
        strip_width=short(width_nm, system, "down"),
        pieces=tuple(pieces),
        remnant=long(roll.remnant_nm, system, "down"),
    )


def _width(nm: int | None, system: System) -> Length | None:
    return None if nm is None else short(nm, system, "down")
