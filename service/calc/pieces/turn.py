"""The same run seen from its other end, so that the work can be tried in both directions."""

from __future__ import annotations

import msgspec

from service.calc.pieces.run import PieceRules, Run, Zone


def turned(run: Run, rules: PieceRules) -> Run:
    """Return the run as it is met when the work goes the other way.

    The marks of the tape stay where they are. On a closed loop the last mark becomes the
    origin; on an open run the far end does, and the marks no longer begin there.
    """
    if not run.closed:
        return _turned_round(run, run.length_nm)
    return _turned_round(run, (run.length_nm - 1) // rules.grid_nm * rules.grid_nm)


def turned_back(run: Run, rules: PieceRules, at_nm: int) -> int:
    """Return where a position of the turned run lies on the run itself [nm]."""
    if not run.closed:
        return run.length_nm - at_nm
    last_mark = (run.length_nm - 1) // rules.grid_nm * rules.grid_nm
    return (last_mark - at_nm) % run.length_nm


def _turned_round(run: Run, about_nm: int) -> Run:
    length = run.length_nm

    def place(at_nm: int) -> int:
        return (about_nm - at_nm) % length if run.closed else about_nm - at_nm

    return msgspec.structs.replace(
        run,
        tabs_nm=tuple(sorted(place(tab) for tab in run.tabs_nm)),
        zones=tuple(_zones(run, about_nm)),
        reaches=tuple(
            msgspec.structs.replace(
                reach,
                start_nm=place(reach.end_nm),
                end_nm=place(reach.end_nm) + reach.end_nm - reach.start_nm,
            )
            for reach in run.reaches
        ),
        keep_off=tuple(
            msgspec.structs.replace(point, at_nm=place(point.at_nm)) for point in run.keep_off
        ),
        start_nm=place(run.start_nm),
    )


def _zones(run: Run, about_nm: int) -> list[Zone]:
    """Return the zones in the opposite order, one that crosses the new origin as two."""
    found: list[Zone] = []
    for zone in run.zones:
        start, end = about_nm - zone.end_nm, about_nm - zone.start_nm
        for turn in (0, run.length_nm) if run.closed else (0,):
            low, high = max(start + turn, 0), min(end + turn, run.length_nm)
            if low < high:
                found.append(msgspec.structs.replace(zone, start_nm=low, end_nm=high))
    return sorted(found, key=lambda zone: zone.start_nm)
