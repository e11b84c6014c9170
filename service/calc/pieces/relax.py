"""What to do where the rules leave no place for a lap: give way there, and nowhere else.

A crew that finds no place for a lap between two corners puts one as far from them as it can.
So the distances of the points in such a stretch are halved, then given up, then the points are
lapped over; only then may pieces cover less than the least. Each point is then put back as far
towards what was asked as the others allow, in the order given.
"""

from __future__ import annotations

import msgspec

from service.calc.pieces.best import Nowhere, best_layout, searched
from service.calc.pieces.conflict import GivenWay, blocked, next_to_give
from service.calc.pieces.layout import Stretch
from service.calc.pieces.run import PieceRules, Run
from service.calc.pieces.tight import tight_layout
from service.calc.pieces.trace import Best, Cost
from service.calc.pieces.track import Track

_MOST_ROUNDS = 12
_MOST_PUT_BACK = 60


class Laid(msgspec.Struct, frozen=True, kw_only=True):
    """The best layout, if there is one, the track it lies on and what gave way for it."""

    track: Track
    best: Best | None
    conflicts: tuple[Stretch, ...] = ()
    short_pieces: bool = False


class _Task(msgspec.Struct, frozen=True, kw_only=True):
    """A run to be laid out, by rules that may give way."""

    run: Run
    rules: PieceRules
    nudge_nm: int

    def track(self, given: GivenWay) -> Track:
        return Track(given.run(self.run), given.rules(self.rules), self.nudge_nm)


def laid(run: Run, rules: PieceRules, nudge_nm: int = 0, below: Cost | None = None) -> Laid:
    """Return the best layout of a run, with as little given way as it takes.

    No layout is looked for where a bound shows that none costs less than `below`.
    """
    task = _Task(run=run, rules=rules, nudge_nm=nudge_nm)
    given = GivenWay(points=(0,) * len(run.keep_off))
    track = task.track(given)
    tight = tight_layout(track, below)
    if tight is not None and tight.best is not None:
        return Laid(track=track, best=tight.best)
    if tight is not None and below is not None and tight.floor >= below:
        return Laid(track=track, best=None)
    conflicts: list[Stretch] = []
    for _ in range(_MOST_ROUNDS):
        found = _tried(track)
        if isinstance(found, Best):
            return _put_back(task, track, given, found, conflicts)
        conflicts += [stretch for stretch in found if stretch not in conflicts]
        further = next_to_give(run, track, given, found)
        if further is None:
            break
        given = further
        track = task.track(given)
    return Laid(track=track, best=None, conflicts=tuple(conflicts))


def _tried(track: Track) -> Best | list[Stretch]:
    """Return the best layout, or else the stretches that have no place for a lap."""
    without = blocked(track)
    if without:
        return without
    best = searched(track)
    if isinstance(best, Nowhere):
        return [Stretch(start_nm=best.start_nm, end_nm=best.end_nm)]
    return best


def _put_back(
    task: _Task, track: Track, given: GivenWay, best: Best, conflicts: list[Stretch]
) -> Laid:
    """Return the layout with every point put back that need not have given way so far."""
    stiffer = _stiffer(task, given)
    if stiffer != given:
        stiffer_track = task.track(stiffer)
        found = best_layout(stiffer_track)
        if isinstance(found, Best):
            track, best = stiffer_track, found
    return Laid(track=track, best=best, conflicts=tuple(conflicts), short_pieces=given.short)


def _stiffer(task: _Task, given: GivenWay) -> GivenWay:
    """Return what has to give way if every stretch is to have some place for a lap."""
    tries = 0
    for number, way in enumerate(given.points):
        for less in range(way):
            if tries == _MOST_PUT_BACK:
                return given
            tries += 1
            points = (*given.points[:number], less, *given.points[number + 1 :])
            trial = msgspec.structs.replace(given, points=points)
            if not blocked(task.track(trial)):
                given = trial
                break
    return given
