"""Size the strip and the channel for a clearance, and say what to do where nothing fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec

from service.calc.channel import Channel, bend
from service.calc.clearance import JudgedClearance, judge, judge_together
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


def size(readings_nm: Sequence[int], values: Values, mark_nm: int = 1) -> Sizing:
    """Return the strip width and the channel for readings of a clearance.

    The width follows the largest reading, the web the tightest one that counts. `mark_nm` is the
    finest mark of the tape: the channel is snug also when it is bent on marks. `advice` is
    empty where a stocked strip fits snugly.
    """
    return _size(judge(readings_nm, values), (readings_nm,), values, mark_nm)


def size_together(places: Sequence[Sequence[int]], values: Values, mark_nm: int = 1) -> Sizing:
    """Return the one strip and channel that go along several places, each with its readings [nm].

    A tight spot stands alone only among the readings of its own place.
    """
    return _size(judge_together(places, values), places, values, mark_nm)


def _size(
    clearance: JudgedClearance, places: Sequence[Sequence[int]], values: Values, mark_nm: int
) -> Sizing:
    largest, tightest = clearance.governing_nm, clearance.tightest_nm
    strip = stocked_width_nm(largest, values)
    channel = bend(strip, tightest, largest, values, mark_nm) if strip is not None else None
    snug = channel is not None and channel.snug
    return Sizing(
        clearance=clearance,
        required_nm=required_width_nm(largest, values),
        strip_nm=strip,
        common=strip in values.common_widths,
        channel=channel,
        advice=() if snug else _advice(strip, channel, clearance, places, values),
    )


def required_width_nm(largest_nm: int, values: Values) -> int:
    """Return the least strip width that covers a clearance [nm]."""
    return largest_nm + values.strip_margin


def stocked_width_nm(largest_nm: int, values: Values) -> int | None:
    """Return the narrowest stocked width that covers a clearance [nm], None where none does."""
    required = required_width_nm(largest_nm, values)
    for width in values.stocked_widths:
        if width >= required:
            return width
    return None


def _advice(
    strip: int | None,
    channel: Channel | None,
    clearance: JudgedClearance,
    places: Sequence[Sequence[int]],
    values: Values,
) -> tuple[Advice, ...]:
    """Return what to do where the plain answer is no snug channel."""
    counted = {nm for place in places for nm in place if nm >= clearance.tightest_nm}
    low = {nm for nm in counted if _too_low(nm, values)}
    advice: list[Advice] = []
    if low or (strip is not None and channel is None):
        advice.append(Advice(kind="low_gap", beyond_nm=tuple(sorted(low, reverse=True))))
    wider = _next_snug_nm(strip, clearance, values)
    if wider is not None:
        advice.append(Advice(kind="next_width", strip_nm=wider))
    split = _split(sorted(counted - low, reverse=True), alone=not low, values=values)
    if split is not None:
        advice.append(split)
    return tuple(advice)


def _too_low(nm: int, values: Values) -> bool:
    """Return whether a gap is too low for a web, whatever the strip."""
    strip = stocked_width_nm(nm, values)
    return strip is not None and bend(strip, nm, nm, values) is None


def _next_snug_nm(strip: int | None, clearance: JudgedClearance, values: Values) -> int | None:
    if strip is None:
        return None
    tightest, largest = clearance.tightest_nm, clearance.governing_nm
    for width in values.stocked_widths:
        channel = bend(width, tightest, largest, values) if width > strip else None
        if channel is not None and channel.snug:
            return width
    return None


class _Division(msgspec.Struct, frozen=True, gc=False):
    """A division of the readings from some place on; `ends` has the end of each stretch."""

    beyond: int
    stretches: int
    end: int
    """Where the first stretch ends; before its beginning where the first reading is beyond."""


def _split(gaps: list[int], *, alone: bool, values: Values) -> Advice | None:
    """Return the fewest stretches that are snug each with the strip of their own largest reading.

    `gaps` fall. A shorter stretch can spare one further down, because a larger reading may take a
    wider strip; so every end of every stretch is weighed. A lower tightest reading never makes a
    channel spring higher, so the ends that fit are those down to the farthest one.
    """
    best = [_Division(0, 0, len(gaps))]
    for at in range(len(gaps) - 1, -1, -1):
        rest = best[-1]
        choices = [(rest.beyond + 1, rest.stretches, at - 1)]
        for end in range(at, _farthest(gaps, at, values) + 1):
            after = best[len(gaps) - 1 - end]
            choices.append((after.beyond, after.stretches + 1, end))
        best.append(_Division(*min(choices)))
    best.reverse()
    stretches: list[Stretch] = []
    beyond: list[int] = []
    at = 0
    while at < len(gaps):
        end = best[at].end
        if end < at:
            beyond.append(gaps[at])
            at += 1
        else:
            stretches.append(_stretch(gaps[end], gaps[at], values))
            at = end + 1
    if not beyond and (not stretches or (len(stretches) == 1 and alone)):
        return None
    return Advice(kind="split", stretches=tuple(stretches), beyond_nm=tuple(beyond))


def _farthest(gaps: list[int], at: int, values: Values) -> int:
    """Return the farthest end of a snug stretch from `at`; before it where there is none."""
    strip = stocked_width_nm(gaps[at], values)
    least, most = at - 1, len(gaps) - 1
    while strip is not None and least < most:
        middle = (least + most + 1) // 2
        channel = bend(strip, gaps[middle], gaps[at], values)
        if channel is not None and channel.snug:
            least = middle
        else:
            most = middle - 1
    return least


def _stretch(least: int, largest: int, values: Values) -> Stretch:
    strip = stocked_width_nm(largest, values)
    assert strip is not None
    channel = bend(strip, least, largest, values)
    assert channel is not None
    return Stretch(least_nm=least, largest_nm=largest, strip_nm=strip, channel=channel)
