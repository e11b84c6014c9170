"""Where the rules leave no place for a lap, and what gives way there."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.pieces.layout import Stretch
from service.calc.pieces.marks import filled
from service.calc.pieces.run import KeepOff, PieceRules, Run
from service.calc.pieces.track import Track

HALVED, BESIDE, OVER = 1, 2, 3
"""How far a point gives way: half its distance, all of it, or a lap may lie over it."""


class GivenWay(msgspec.Struct, frozen=True, kw_only=True):
    """How far each point to keep off has given way, and whether pieces may be short."""

    points: tuple[int, ...]
    short: bool = False

    def run(self, run: Run) -> Run:
        """Return the run with its points as they have given way."""
        if not any(self.points):
            return run
        points = (_eased(*pair) for pair in zip(run.keep_off, self.points, strict=True))
        kept = tuple(point for point in points if point is not None)
        return msgspec.structs.replace(run, keep_off=kept)

    def rules(self, rules: PieceRules) -> PieceRules:
        """Return the rules as they have given way."""
        return msgspec.structs.replace(rules, least_piece_nm=0) if self.short else rules


def blocked(track: Track) -> list[Stretch]:
    """Return the stretches without a place for a lap that are longer than a piece reaches."""
    run = track.run
    places = sorted(
        (track.position(first), track.position(last), lap)
        for lap, marks in track.plain.items()
        for first, last in filled(marks)
    )
    if run.closed:
        length = run.length_nm
        around = [(first - length, last - length, lap) for first, last, lap in places]
        places = [*around, *places]
    else:
        places = [(0, 0, 0), *places, (run.length_nm, run.length_nm, 0)]
    if not places:
        return [Stretch(start_nm=0, end_nm=run.length_nm)]
    found = []
    _, last_place, lap = places[0]
    reached = last_place + track.piece_nm - lap
    for first, last, lap in places[1:]:
        if first > reached and first >= 0:
            found.append(Stretch(start_nm=last_place, end_nm=first))
        last_place, reached = max(last_place, last), max(reached, last + track.piece_nm - lap)
    return found


def next_to_give(
    run: Run, track: Track, given: GivenWay, stretches: Sequence[Stretch]
) -> GivenWay | None:
    """Return the next way to give in stretches without a place for a lap, or None.

    Points in them give way step by step, then pieces may be short. Where no one stretch is to
    blame, pieces may be short first.
    """
    whole = any(stretch.end_nm - stretch.start_nm >= run.length_nm for stretch in stretches)
    shorter = None if given.short else msgspec.structs.replace(given, short=True)
    if whole and shorter is not None:
        return shorter
    longest_lap = max(stretch.lap_nm for stretch in track.laps)
    points = tuple(
        min(way + 1, OVER) if _touches(run, point, longest_lap, stretches) else way
        for point, way in zip(run.keep_off, given.points, strict=True)
    )
    if points == given.points:
        return shorter
    return msgspec.structs.replace(given, points=points)


def _touches(run: Run, point: KeepOff, lap_nm: int, stretches: Sequence[Stretch]) -> bool:
    """Return whether a point takes away places for a lap in any of the stretches."""
    turns = (-run.length_nm, 0, run.length_nm) if run.closed else (0,)
    return any(
        point.at_nm + turn - point.distance_nm < stretch.end_nm
        and stretch.start_nm < point.at_nm + turn + point.distance_nm + lap_nm
        for stretch in stretches
        for turn in turns
    )


def _eased(point: KeepOff, way: int) -> KeepOff | None:
    if way == HALVED:
        return msgspec.structs.replace(point, distance_nm=point.distance_nm // 2)
    if way == BESIDE:
        return msgspec.structs.replace(point, distance_nm=0)
    return None if way == OVER else point
