"""Evaluate the readings of a clearance: largest, smallest, and isolated tight spots."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

import msgspec

from gapwright.quantity import show
from gapwright.quantity.output import SectionDown, SectionUp
from gapwright.quantity.show import System
from gapwright.rulesets.values import Values


class IsolatedReading(show.Length, frozen=True, kw_only=True, gc=False):
    """A tight spot that does not govern; `reading` is its position in the request's list."""

    reading: int
    """The position of the reading in the request, from 0."""


class IsolatedSpot(SectionDown):
    """A tight spot [nm] that does not govern, and its position among the readings."""

    __slots__ = ("reading",)
    wire = IsolatedReading

    def __init__(self, nm: int, reading: int) -> None:
        super().__init__(nm)
        self.reading = reading

    def encoded(self, system: System) -> IsolatedReading:
        """Return the length with the position of its reading."""
        shown = msgspec.structs.asdict(super().encoded(system))
        return IsolatedReading(**shown, reading=self.reading)


class ClearanceResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Which readings count: the largest sets the width, the smallest sets the web."""

    governing: SectionUp
    """The largest reading: it sets the width of the strip."""
    smallest: SectionDown
    """The smallest reading that is not isolated: it sets the web."""
    isolated: tuple[IsolatedSpot, ...]
    """Low readings at single spots, which do not count as the smallest."""


def judge(readings_nm: Sequence[int], values: Values) -> ClearanceResult:
    """Return the governing and the smallest reading, and the isolated tight spots.

    A reading is isolated when it lies at least `tight_spot_drop` below the middle reading (the
    lower one of the two middle ones) and no more than `tight_spot_share` of all readings do so.
    Where more are low, the gap itself is uneven, and the low readings count.
    """
    low: tuple[IsolatedSpot, ...] = ()
    if len(readings_nm) > 1:  # the only reading is never isolated, whatever the rules
        ordered = sorted(readings_nm)
        middle = ordered[(len(ordered) - 1) // 2]
        low = tuple(
            IsolatedSpot(nm, at)
            for at, nm in enumerate(readings_nm)
            if nm < middle and nm <= middle - values.tight_spot_drop
        )
        if low and len(low) > values.tight_spot_share * len(readings_nm):
            low = ()
    isolated = {spot.reading for spot in low}
    return ClearanceResult(
        governing=SectionUp(max(readings_nm)),
        smallest=SectionDown(min(nm for at, nm in enumerate(readings_nm) if at not in isolated)),
        isolated=low,
    )


def judge_together(places: Sequence[Sequence[int]], values: Values) -> ClearanceResult:
    """Return the judged readings of several places [nm], each place judged by itself.

    A reading that is isolated among all readings can be the whole of one place, and counts there.
    Positions of tight spots count through the places.
    """
    judged = [judge(readings, values) for readings in places]
    starts = accumulate((len(readings) for readings in places), initial=0)
    return ClearanceResult(
        governing=max((one.governing for one in judged), key=lambda length: length.nm),
        smallest=min((one.smallest for one in judged), key=lambda length: length.nm),
        isolated=tuple(
            IsolatedSpot(spot.nm, start + spot.reading)
            for start, one in zip(starts, judged, strict=False)
            for spot in one.isolated
        ),
    )
