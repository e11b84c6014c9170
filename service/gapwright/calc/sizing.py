"""Size the strip and the channel for a clearance, and say what to do where nothing fits."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Literal, TypeVar

import msgspec

from gapwright.calc.channel import Profile, bend, can_be_bent, is_snug
from gapwright.calc.clearance import ClearanceResult, judge_together
from gapwright.quantity.output import SectionDown, SectionUp, Text
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.values import Values

T = TypeVar("T")
Places = Sequence[Sequence[int]]
"""Readings [nm] of one or more places; each place is judged by itself."""


class StripResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The strip; `width` and `spare` are null where no stock width is wide enough."""

    required_width: SectionUp
    """The width that the clearance needs."""
    width: SectionDown | None
    """The stock width to use; null if none is wide enough."""
    common: bool
    """Whether suppliers usually carry that width."""
    spare: SectionDown | None
    """The stock width less the required width; null if none is wide enough."""


class Stretch(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A part of the array with these readings, and the strip and channel that suit it."""

    low: SectionDown
    """The smallest reading of the stretch."""
    high: SectionUp
    """The largest reading of the stretch."""
    strip_width: SectionDown
    """The strip that suits it."""
    profile: Profile
    """The channel that suits it."""


class Advice(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What to do if no stock strip fits snugly.

    `next_width`: use a wider stock strip that is snug. `split`: use a strip for each stretch;
    `beyond` lists the readings that no stock strip suits. `low_gap`: the gap is too low for a web.
    """

    kind: Literal["next_width", "split", "low_gap"]
    """`next_width`: use the wider strip; `split`: use a strip for each stretch; `low_gap`: the
    clearance is too low for a web.
    """
    text: Text
    """The advice as a sentence, with lengths in the units of the answer."""
    strip_width: SectionDown | None = None
    """The wider stock strip that is snug (`next_width`), or null."""
    stretches: tuple[Stretch, ...] = ()
    """The stretches with strips of their own (`split`)."""
    beyond: tuple[SectionUp, ...] = ()
    """The readings that no stock strip suits (`split`)."""


class SizingResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Strip width and channel profile; `profile` is null where no channel can be bent."""

    clearance: ClearanceResult
    """Which readings count."""
    strip: StripResult
    """The strip."""
    profile: Profile | None
    """The channel; null if no channel can be bent."""
    advice: tuple[Advice, ...]
    """What to do if no stock strip is snug."""


class Sizing(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The figures of a sizing [nm]; others build on them one by one."""

    places: Figure[Places]
    clearance: Figure[ClearanceResult]
    required_nm: Figure[int]
    strip_nm: Figure[int | None]
    spare: Figure[SectionDown | None]
    common: Figure[bool]
    fitted: Figure[bool]
    """Whether a stock strip is wide enough, and a channel can be bent from it."""
    snug: Figure[bool]
    """Whether a channel can be bent whose free height exceeds the clearance."""
    profile: Figure[Profile | None]
    advice: Figure[tuple[Advice, ...]]

    def result(self, rules: RuleSet) -> SizingResult:
        """Return the sizing for an answer."""
        required = rules.show("/strip/required_width", self.required_nm)
        strip = rules.show("/strip/width", self.strip_nm)
        return SizingResult(
            clearance=rules.show("/clearance", self.clearance),
            strip=StripResult(
                required_width=SectionUp(required),
                width=None if strip is None else SectionDown(strip),
                common=rules.show("/strip/common", self.common),
                spare=rules.show("/strip/spare", self.spare),
            ),
            profile=rules.show("/profile", self.profile),
            advice=rules.show("/advice", self.advice),
        )


def size(places: Figure[Places], rules: RuleSet) -> Sizing:
    """Return the one strip and channel for several places, each with its readings [nm].

    The width follows the largest reading, the web the smallest one that counts. A tight spot is
    isolated only among the readings of its own place. There is no advice if a stock strip gives a
    snug channel.
    """
    values = rules.values

    def largest() -> int:
        return max(nm for readings in places.value for nm in readings)

    clearance = rules.figure(lambda: judge_together(places.value, values))
    required = rules.figure(lambda: largest() + values.mesh_margin)
    strip = rules.figure(lambda: _stock_width(required.value, values))
    return _sizing(places, clearance, required, strip, rules)


def _sizing(
    places: Figure[Places],
    clearance: Figure[ClearanceResult],
    required: Figure[int],
    strip: Figure[int | None],
    rules: RuleSet,
) -> Sizing:
    """Return the sizing with a strip that is chosen."""

    def with_strip(compute: Callable[[int], T], otherwise: T) -> Figure[T]:
        """Return a figure that follows from the strip's width [nm], if there is a strip."""

        def value() -> T:
            width = strip.value
            return otherwise if width is None else compute(width)

        return rules.figure(value)

    def smallest_nm() -> int:
        return clearance.value.smallest.nm

    def largest_nm() -> int:
        return clearance.value.governing.nm

    snug = with_strip(lambda width: is_snug(width, smallest_nm(), largest_nm(), rules), False)
    return Sizing(
        places=places,
        clearance=clearance,
        required_nm=required,
        strip_nm=strip,
        spare=with_strip(lambda width: SectionDown(width - required.value), None),
        common=with_strip(lambda width: width in rules.values.common_widths, False),
        fitted=with_strip(lambda width: can_be_bent(width, smallest_nm(), rules), False),
        snug=snug,
        profile=with_strip(lambda width: bend(width, smallest_nm(), largest_nm(), rules), None),
        advice=rules.figure(
            lambda: _advice(strip.value, snug.value, clearance.value, places.value, rules)
        ),
    )


def widened(sizing: Sizing, steps: int, rules: RuleSet) -> Sizing:
    """Return a sizing with a strip that is `steps` stock widths wider."""
    if not steps:
        return sizing
    values = rules.values

    def width() -> int | None:
        narrow = sizing.strip_nm.value
        if narrow is None:
            return None
        at = values.stock_widths.index(narrow) + steps
        return values.stock_widths[at] if at < len(values.stock_widths) else None

    wider = _sizing(sizing.places, sizing.clearance, sizing.required_nm, rules.figure(width), rules)
    return msgspec.structs.replace(wider, advice=sizing.advice)


def _stock_width(required_nm: int, values: Values) -> int | None:
    """Return the narrowest stock width that is wide enough [nm], or None."""
    return next((width for width in values.stock_widths if width >= required_nm), None)


def _stock_width_for(largest_nm: int, rules: RuleSet) -> int | None:
    return _stock_width(largest_nm + rules.values.mesh_margin, rules.values)


def _advice(
    strip: int | None,
    snug: bool,
    clearance: ClearanceResult,
    places: Places,
    rules: RuleSet,
) -> tuple[Advice, ...]:
    """Return what to do if the strip gives no snug channel."""
    if snug:
        return ()
    smallest, largest = clearance.smallest.nm, clearance.governing.nm
    counted = {nm for place in places for nm in place if nm >= smallest}
    low = {nm for nm in counted if _too_low(nm, rules)}
    advice: list[Advice] = []
    if low or (strip is not None and not can_be_bent(strip, smallest, rules)):
        text = "The gap is too low for a channel. Consider a flat or L-shaped strip there."
        beyond = tuple(SectionUp(nm) for nm in sorted(low, reverse=True))
        advice.append(Advice(kind="low_gap", text=Text(text), beyond=beyond))
    wider = _next_snug_nm(strip, smallest, largest, rules)
    if wider is not None:
        width = SectionDown(wider)
        text = "Use the next width, {}. Bent to the same web, it fits snugly."
        advice.append(Advice(kind="next_width", text=Text(text, width), strip_width=width))
    split = _split(sorted(counted - low, reverse=True), alone=not low, rules=rules)
    if split is not None:
        advice.append(split)
    return tuple(advice)


def _too_low(nm: int, rules: RuleSet) -> bool:
    """Return whether a gap is too low for a web, whatever the strip."""
    strip = _stock_width_for(nm, rules)
    return strip is not None and not can_be_bent(strip, nm, rules)


def _next_snug_nm(strip: int | None, smallest: int, largest: int, rules: RuleSet) -> int | None:
    if strip is None:
        return None
    wider = (width for width in rules.values.stock_widths if width > strip)
    return next((width for width in wider if is_snug(width, smallest, largest, rules)), None)


def _split(gaps: list[int], *, alone: bool, rules: RuleSet) -> Advice | None:
    """Return the fewest ranges that are snug, each with the strip of its own largest reading.

    `gaps` are in descending order. A shorter range can save one further down, because a larger
    reading may take a wider strip, so every end of every range is tried. A lower smallest reading
    never raises the free height, so every end up to the farthest one fits.
    """
    # best[k] is the best division of the last k gaps: (gaps beyond, stretches, end of the first)
    best = [(0, 0, len(gaps))]
    for at in range(len(gaps) - 1, -1, -1):
        beyond, count, _ = best[-1]
        choices = [(beyond + 1, count, at - 1)]
        for end in range(at, _farthest(gaps, at, rules) + 1):
            beyond, count, _ = best[len(gaps) - 1 - end]
            choices.append((beyond, count + 1, end))
        best.append(min(choices))
    best.reverse()
    stretches: list[Stretch] = []
    left: list[SectionUp] = []
    at = 0
    while at < len(gaps):
        end = best[at][2]
        if end < at:
            left.append(SectionUp(gaps[at]))
            at += 1
        else:
            stretches.append(_stretch(gaps[end], gaps[at], rules))
            at = end + 1
    if not left and (not stretches or (len(stretches) == 1 and alone)):
        return None
    return Advice(
        kind="split",
        text=Text(_split_text(len(stretches), bool(left))),
        stretches=tuple(stretches),
        beyond=tuple(left),
    )


def _split_text(stretches: int, beyond: bool) -> str:
    parts = []
    if stretches > 1:
        parts.append(
            f"Split the array into {stretches} stretches by clearance, each with its own strip."
        )
    elif stretches:
        parts.append("Use the strip listed here where the readings allow it.")
    if beyond:
        parts.append("No stock strip fits snugly at the other readings; have a wider one made.")
    return " ".join(parts)


def _farthest(gaps: list[int], at: int, rules: RuleSet) -> int:
    """Return the farthest end of a snug range from `at`, or `at` - 1 if there is none."""
    strip = _stock_width_for(gaps[at], rules)
    if strip is None:
        return at - 1
    ends = range(at, len(gaps))
    return (
        at
        - 1
        + bisect_left(ends, True, key=lambda end: not is_snug(strip, gaps[end], gaps[at], rules))
    )


def _stretch(least: int, largest: int, rules: RuleSet) -> Stretch:
    strip = _stock_width_for(largest, rules)
    assert strip is not None
    profile = bend(strip, least, largest, rules)
    assert profile is not None
    return Stretch(
        low=SectionDown(least),
        high=SectionUp(largest),
        strip_width=SectionDown(strip),
        profile=profile,
    )
