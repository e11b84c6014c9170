"""Size the strip and the channel for a clearance, and say what to do where nothing fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec

from service.calc.channel import Channel, bend
from service.calc.clearance import JudgedClearance, judge
from service.rulesets.values import Values


class Stretch(msgspec.Struct, frozen=True, kw_only=True):
    """A part of the array with readings of its own, and the strip that suits it [nm]."""

    least_nm: int
    largest_nm: int
    strip_nm: int
    channel: Channel


class Advice(msgspec.Struct, frozen=True, kw_only=True):
    """What to do where the plain answer does not fit.

    `next_width`: a wider stocked strip that is snug. `split`: stretches with their own strip;
    `beyond_nm` are the readings that no stocked strip suits. `low_gap`: too low for a web.
    """

    kind: Literal["next_width", "split", "low_gap"]
    strip_nm: int | None = None
    stretches: tuple[Stretch, ...] = ()
    beyond_nm: tuple[int, ...] = ()


class Sizing(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The strip and the channel for a clearance; `strip_nm` is None where none is wide enough."""

    clearance: JudgedClearance
    required_nm: int
    strip_nm: int | None
    common: bool
    channel: Channel | None
    advice: tuple[Advice, ...]


def size(readings_nm: Sequence[int], values: Values) -> Sizing:
    """Return the strip width and the channel for readings of a clearance.

    The width follows the largest reading, the web the tightest one that counts. `advice` is
    empty where a stocked strip fits snugly.
    """
    clearance = judge(readings_nm, values)
    largest, tightest = clearance.governing_nm, clearance.tightest_nm
    strip = stocked_width_nm(largest, values)
    channel = bend(strip, tightest, largest, values) if strip is not None else None
    return Sizing(
        clearance=clearance,
        required_nm=required_width_nm(largest, values),
        strip_nm=strip,
        common=strip in values.common_widths,
        channel=channel,
        advice=_advice(strip, channel, clearance, readings_nm, values),
    )


def required_width_nm(largest_nm: int, values: Values) -> int:
    """Return the least strip width that covers a clearance [nm]."""
    return largest_nm + values.strip_margin


def stocked_width_nm(largest_nm: int, values: Values) -> int | None:
    """Return the narrowest stocked width that covers a clearance [nm], None where none does."""
    required = required_width_nm(largest_nm, values)
    return next((width for width in values.stocked_widths if width >= required), None)


def _advice(
    strip: int | None,
    channel: Channel | None,
    clearance: JudgedClearance,
    readings_nm: Sequence[int],
    values: Values,
) -> tuple[Advice, ...]:
    if channel is not None and channel.snug:
        return ()
    counted = [nm for nm in readings_nm if nm >= clearance.tightest_nm]
    advice: list[Advice] = []
    if strip is not None and channel is None:
        advice.append(Advice(kind="low_gap"))
    wider = _next_snug_nm(strip, clearance, values)
    if wider is not None:
        advice.append(Advice(kind="next_width", strip_nm=wider))
    split = _split(counted, values)
    if split is not None:
        advice.append(split)
    return tuple(advice)


def _next_snug_nm(strip: int | None, clearance: JudgedClearance, values: Values) -> int | None:
    if strip is None:
        return None
    tightest, largest = clearance.tightest_nm, clearance.governing_nm
    for width in values.stocked_widths:
        channel = bend(width, tightest, largest, values) if width > strip else None
        if channel is not None and channel.snug:
            return width
    return None


def _split(counted: list[int], values: Values) -> Advice | None:
    """Return the fewest stretches that are snug each with the strip of their own largest reading.

    Going down from the largest reading and keeping each stretch as long as it stays snug is
    optimal: a lower tightest reading never makes a channel spring higher.
    """
    rest = sorted(set(counted), reverse=True)
    stretches: list[Stretch] = []
    beyond: list[int] = []
    while rest:
        stretch = _longest_stretch(rest, values)
        if stretch is None:
            beyond.append(rest.pop(0))
        else:
            stretches.append(stretch)
            rest = [nm for nm in rest if nm < stretch.least_nm]
    if not stretches or (len(stretches) == 1 and not beyond):
        return None
    return Advice(kind="split", stretches=tuple(stretches), beyond_nm=tuple(beyond))


def _longest_stretch(readings: list[int], values: Values) -> Stretch | None:
    """Return the longest snug stretch from the first (largest) of falling readings."""
    largest = readings[0]
    strip = stocked_width_nm(largest, values)
    if strip is None:
        return None
    found: Stretch | None = None
    for least in readings:
        channel = bend(strip, least, largest, values)
        if channel is None or not channel.snug:
            break
        found = Stretch(least_nm=least, largest_nm=largest, strip_nm=strip, channel=channel)
    return found
