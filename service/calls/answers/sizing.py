"""A sizing as a caller reads it."""

from __future__ import annotations

from typing import Literal

import msgspec

from service.calc.channel import Channel
from service.calc.clearance import JudgedClearance
from service.calc.sizing import Advice, Sizing, Stretch
from service.quantity.show import Length, System, decimal, short


class IsolatedSpot(Length, frozen=True, kw_only=True, gc=False):
    """A tight spot that does not govern; `reading` is its position in the request's list."""

    reading: int


class ClearanceAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Which readings count: the largest sets the width, the tightest sets the web."""

    governing: Length
    tightest: Length
    isolated: tuple[IsolatedSpot, ...]


class StripAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The strip; `width` and `spare` are null where no stocked width is wide enough."""

    required_width: Length
    width: Length | None
    common: bool
    spare: Length | None


class Turn(msgspec.Struct, frozen=True, kw_only=True, gc=False, rename={"from_": "from"}):
    """The recommended turn of each bend, in degrees from the flat strip."""

    from_: float
    to: float


class FreeHeight(msgspec.Struct, frozen=True, kw_only=True, gc=False, rename={"from_": "from"}):
    """The height that the channel springs open to at the least and the greatest turn."""

    from_: Length
    to: Length


class ProfileAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The channel's section; bend lines are measured from one edge of the flat strip."""

    web: Length
    flange: Length
    bend_lines: tuple[Length, Length]
    bend_angle: Turn
    free_height: FreeHeight
    fit: Literal["snug", "loose"]


class StretchAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False, rename={"from_": "from"}):
    """A part of the array with these readings, and the strip and channel that suit it."""

    from_: Length
    to: Length
    strip_width: Length
    profile: ProfileAnswer


class AdviceAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What to do where no stocked strip fits snugly."""

    kind: Literal["next_width", "split", "low_gap"]
    text: str
    strip_width: Length | None = None
    stretches: tuple[StretchAnswer, ...] = ()
    beyond: tuple[Length, ...] = ()


class SizingAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Strip width and channel profile; `profile` is null where no channel can be bent."""

    clearance: ClearanceAnswer
    strip: StripAnswer
    profile: ProfileAnswer | None
    advice: tuple[AdviceAnswer, ...]


def show_sizing(sizing: Sizing, system: System) -> SizingAnswer:
    """Return a sizing in the caller's units; each text is rounded to the safe side."""
    strip = sizing.strip_nm
    return SizingAnswer(
        clearance=show_clearance(sizing.clearance, system),
        strip=StripAnswer(
            required_width=short(sizing.required_nm, system, "up"),
            width=short(strip, system, "down") if strip is not None else None,
            common=sizing.common,
            spare=short(strip - sizing.required_nm, system, "down") if strip is not None else None,
        ),
        profile=show_profile(sizing.channel, system) if sizing.channel else None,
        advice=tuple(show_advice(advice, system) for advice in sizing.advice),
    )


def show_profile(channel: Channel, system: System) -> ProfileAnswer:
    """Return a channel's section; its bend lines are rounded so that the web is no wider."""
    low, high = channel.bend_lines_nm
    return ProfileAnswer(
        web=short(channel.web_nm, system, "down"),
        flange=short(channel.flange_nm, system, "up"),
        bend_lines=(short(low, system, "up"), short(high, system, "down")),
        bend_angle=Turn(from_=decimal(channel.turn_from), to=decimal(channel.turn_to)),
        free_height=FreeHeight(
            from_=short(channel.free_from_nm, system, "down"),
            to=short(channel.free_to_nm, system, "down"),
        ),
        fit="snug" if channel.snug else "loose",
    )


def show_clearance(clearance: JudgedClearance, system: System) -> ClearanceAnswer:
    """Return which readings count; those that stand alone by their place in the list."""
    isolated = []
    for at, nm in clearance.isolated:
        spot = short(nm, system, "down")
        isolated.append(
            IsolatedSpot(
                value=spot.value, unit=spot.unit, text=spot.text, rounded=spot.rounded, reading=at
            )
        )
    return ClearanceAnswer(
        governing=short(clearance.governing_nm, system, "up"),
        tightest=short(clearance.tightest_nm, system, "down"),
        isolated=tuple(isolated),
    )


def show_advice(advice: Advice, system: System) -> AdviceAnswer:
    """Return what to do where no stocked strip fits snugly."""
    strip = short(advice.strip_nm, system, "down") if advice.strip_nm is not None else None
    return AdviceAnswer(
        kind=advice.kind,
        text=_advice_text(advice, strip),
        strip_width=strip,
        stretches=tuple(_stretch(stretch, system) for stretch in advice.stretches),
        beyond=tuple(short(nm, system, "up") for nm in advice.beyond_nm),
    )


def _advice_text(advice: Advice, strip: Length | None) -> str:
    if strip is not None:
        return f"Take the next width, {strip.text}; bent to the same web it springs snug."
    if advice.kind == "low_gap":
        return "The gap is too low for a channel; a flat or L-shaped strip may do there."
    text = ""
    if advice.stretches:
        count = len(advice.stretches)
        text = (
            f"Divide the array into {count} stretches by their readings, each with its own strip."
        )
        text = text if count > 1 else "Fit the strip below where the readings allow it."
    if advice.beyond_nm:
        text += " For the readings beyond, no stocked strip is snug; have a wider one made."
    return text.strip()


def _stretch(stretch: Stretch, system: System) -> StretchAnswer:
    return StretchAnswer(
        from_=short(stretch.least_nm, system, "down"),
        to=short(stretch.largest_nm, system, "up"),
        strip_width=short(stretch.strip_nm, system, "down"),
        profile=show_profile(stretch.channel, system),
    )
