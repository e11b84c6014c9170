"""What the trade says of one place on a run, read from the run itself, slowly and plainly.

Shared by the exact model, the enumeration, the validator: none of it comes from the solver.
Positions may lie outside [0, length) on a closed run; lengths in nm, or in any whole unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from gapwright.calc.pieces import Run, RunZone

UNLIMITED = 1 << 62


def turns(run: Run, low: int, high: int) -> range:
    """Return how often round the loop a zone must be repeated to lie over low to high."""
    if not run.closed:
        return range(1)
    return range(low // run.length_nm - 1, high // run.length_nm + 2)


def zones_touched(run: Run, low: int, high: int) -> list[RunZone]:
    """Return the zones that a stretch lies in for more than a point."""
    return [
        zone
        for rotation in turns(run, low, high)
        for zone in run.zones
        if min(high, zone.end_nm + rotation * run.length_nm)
        > max(low, zone.start_nm + rotation * run.length_nm)
    ]


def is_long_enough(run: Run, low: int, high: int, *, less: int = 0) -> bool:
    """Return whether an overlap, or one less long there, is what every zone it touches asks."""
    return all(high - low - less >= zone.overlap_nm for zone in zones_touched(run, low, high))


def too_near(run: Run, low: int, high: int) -> list[int]:
    """Return the points, in [0, length], that an overlap lies over or too near to."""
    return [
        point.at_nm
        for point in run.keep_off
        if any(
            point.at_nm + rotation * run.length_nm + point.distance_nm > low
            and point.at_nm + rotation * run.length_nm - point.distance_nm < high
            for rotation in turns(run, low - point.distance_nm, high + point.distance_nm)
        )
    ]


def return_mesh(run: Run, at: int) -> int | None:
    """Return the mesh of the shortest return that can be made at a place; None: none can."""
    places = [at % run.length_nm, at % run.length_nm + run.length_nm] if run.closed else [at]
    return min(
        (
            reach.return_nm
            for reach in run.reaches
            for place in places
            if reach.start_nm <= place <= reach.end_nm
        ),
        default=None,
    )


def farthest(run: Run, fixing: int) -> int:
    """Return the farthest place of the next fixing.

    It may be nowhere beyond the start of a zone unless it is within that zone's span.
    """
    return min(
        (
            max(zone.start_nm + rotation * run.length_nm, fixing + zone.span_nm)
            for rotation in (
                range(fixing // run.length_nm, fixing // run.length_nm + 4)
                if run.closed
                else range(1)
            )
            for zone in run.zones
            if zone.span_nm is not None and zone.end_nm + rotation * run.length_nm > fixing
        ),
        default=UNLIMITED,
    )


def unsupported(
    run: Run, fixings: Sequence[int], ends: tuple[int, int] | None
) -> list[tuple[int, int, int | None]]:
    """Return the stretches beyond the reach of the fixing before them, each with that fixing.

    `ends` are the places that bound the run like fixings; None: it is followed round and round.
    A run on which nothing is fixed is unsupported as a whole.
    """
    if all(zone.span_nm is None for zone in run.zones):
        return []
    if not fixings:
        return [(0, run.length_nm, None)]
    bounds = sorted({*fixings, *(ends or ())})
    if ends is None:
        bounds.append(bounds[0] + run.length_nm)
    return [
        (farthest(run, low), high, low)
        for low, high in pairwise(bounds)
        if farthest(run, low) < high
    ]
