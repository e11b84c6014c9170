"""Judge the readings of a clearance: which governs, which is tightest, which stand alone."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

import msgspec

from service.rulesets.values import Values


class JudgedClearance(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What the readings come to [nm].

    `governing_nm` is the largest reading: the strip must cover it. `tightest_nm` is the smallest
    that is not an isolated tight spot: the channel must go in there. `isolated` lists position and
    reading of each tight spot.
    """

    governing_nm: int
    tightest_nm: int
    isolated: tuple[tuple[int, int], ...]


def judge(readings_nm: Sequence[int], values: Values) -> JudgedClearance:
    """Return the governing and the tightest reading, and the isolated tight spots.

    A reading stands alone when it lies at least `tight_spot_drop` below the middle reading (the
    lower one of the two middle ones) and no more than `tight_spot_share` of all readings do so.
    Where more are low, the gap itself is uneven, and the low readings count.
    """
    ordered = sorted(readings_nm)
    middle = ordered[(len(ordered) - 1) // 2]
    limit = middle - values.tight_spot_drop
    if ordered[0] > limit:  # mostly; spares half the steps
        return JudgedClearance(governing_nm=ordered[-1], tightest_nm=ordered[0], isolated=())
    low = tuple((at, nm) for at, nm in enumerate(readings_nm) if nm <= limit and nm < middle)
    if low and len(low) > values.tight_spot_share * len(readings_nm):
        low = ()
    counted = [nm for nm in readings_nm if nm > limit or nm >= middle] if low else readings_nm
    return JudgedClearance(governing_nm=max(readings_nm), tightest_nm=min(counted), isolated=low)


def judge_together(places: Sequence[Sequence[int]], values: Values) -> JudgedClearance:
    """Return what the readings of several places [nm] come to, each place judged by itself.

    What stands alone among the readings of all can be the whole of one place, and counts there.
    Positions of tight spots count through the places.
    """
    judged = [judge(readings, values) for readings in places]
    starts = accumulate((len(readings) for readings in places), initial=0)
    return JudgedClearance(
        governing_nm=max(one.governing_nm for one in judged),
        tightest_nm=min(one.tightest_nm for one in judged),
        isolated=tuple(
            (start + at, nm)
            for start, one in zip(starts, judged, strict=False)
            for at, nm in one.isolated
        ),
    )
