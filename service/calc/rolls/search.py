"""The search for a cutting that uses as little as can be of the roll that is cut last.

In the order of what it costs: cut greedily; relax, which proves a bound; keep the whole rolls
of the relaxation and search for the rest alone; dig. Most jobs end at the first.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.rolls.fill import (
    Filler,
    Pattern,
    Work,
    first_fit,
    fullest,
    less,
    reach,
    repeats,
    total,
)
from service.calc.rolls.proof import Cutting, Run, dig
from service.calc.rolls.relax import Prices, Share, Task, relax

FILLERS: tuple[Filler, ...] = (fullest, first_fit)


class Outcome(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The best cutting found, if any, and the least that any must use of the last roll."""

    cutting: Cutting | None
    least: int


def use_least_of_last(task: Task, most: int, work: Work) -> Outcome:
    """Return the cutting that uses least of the last roll, of those that use `most` or under.

    `least` above `most` proves that there is none; `least` equal to what the cutting uses
    proves it the best. Otherwise `work` ran out in between.
    """
    hunt = _Hunt(task, most, work)
    hunt.greedy()
    if hunt.open:
        hunt.relax()
    return Outcome(cutting=hunt.best, least=hunt.least)


class _Hunt:
    """The state of one search: the best cutting so far, and the bound it has to meet."""

    def __init__(self, task: Task, most: int, work: Work) -> None:
        self.task, self.most, self.work = task, most, work
        self.best: Cutting | None = None
        tails = reach(task.sizes, task.counts, max(*task.rooms, task.last))
        self.sums = tails[-1] if tails else None
        self.least = self._reachable(max(0, self._owed_by_length(), self._owed_by_count()))

    @property
    def open(self) -> bool:
        return self.least <= self.most and self.work.left > 0

    def greedy(self) -> None:
        for filler in FILLERS:
            if self.least <= self.most:
                self._offer(cut_greedily(self.task, filler))
                self.work.spend(sum(self.task.full) * len(self.task.sizes) // 8)

    def relax(self) -> None:
        relaxed = relax(self.task, self.most + 1, self.work)
        if relaxed.prices is None:
            return
        self._raise(relaxed.prices.least)
        if self.open:
            self._finish(_settled(relaxed.shares, self.task))
        self._dig(relaxed.prices)

    def _finish(self, runs: tuple[Run, ...]) -> None:
        """Take some rolls for settled and search for the rest alone."""
        if not runs:
            return
        left, rest = list(self.task.full), list(self.task.counts)
        for t, pattern, times in runs:
            left[t] -= times
            rest = less(rest, pattern, times)
        kinds = [k for k, count in enumerate(rest) if count]
        part = msgspec.structs.replace(
            self.task,
            sizes=tuple(self.task.sizes[k] for k in kinds),
            counts=tuple(rest[k] for k in kinds),
            full=tuple(left),
        )
        with self.work.part(2) as work:
            found = use_least_of_last(part, self.most, work).cutting
        if found is not None:
            more = [(t, _widened(pattern, kinds, rest), times) for t, pattern, times in found.runs]
            self._offer(Cutting(runs=(*runs, *more), last=_widened(found.last, kinds, rest)))

    def _dig(self, prices: Prices) -> None:
        """Look for the best cuttings first, then for ever worse ones, until one is found."""
        step = max(1, self.task.last >> 12)
        while self.open:
            aim = min(self.most, self.least + step - 1)
            with self.work.part(3) as work:
                found = dig(self.task, prices, aim, work)
                complete = work.left >= 0
            self._offer(found)
            if complete:
                self._raise(min(aim, self.most) + 1)
            elif found is None and aim == self.most:
                return
            step *= 4

    def _offer(self, cutting: Cutting | None) -> None:
        if cutting is not None and total(self.task.sizes, cutting.last) <= self.most:
            self.best = cutting
            self.most = total(self.task.sizes, cutting.last) - 1

    def _raise(self, least: int) -> None:
        self.least = max(self.least, self._reachable(least))

    def _reachable(self, least: int) -> int:
        """Return the next length from `least` up that some of the pieces add up to."""
        if self.sums is None or least > self.task.last:
            return least
        above = self.sums >> least
        if not above:
            return self.task.last + 1
        return least + (above & -above).bit_length() - 1

    def _owed_by_length(self) -> int:
        """Return what is left when every full roll holds as much as pieces can add up to."""
        owed = total(self.task.sizes, self.task.counts)
        for room, rolls in zip(self.task.rooms, self.task.full, strict=True):
            top = room
            if self.sums is not None:
                top = (self.sums & ((2 << room) - 1)).bit_length() - 1
            owed -= rolls * top
        return owed

    def _owed_by_count(self) -> int:
        """Return what is left when every full roll holds as many pieces as the shortest allow."""
        sizes, counts = self.task.sizes[::-1], self.task.counts[::-1]
        left = sum(counts)
        for room, rolls in zip(self.task.rooms, self.task.full, strict=True):
            left -= rolls * sum(first_fit(sizes, counts, room))
        owed = 0
        for size, count in zip(sizes, counts, strict=True):
            owed += size * min(count, max(0, left))
            left -= count
        return owed


def cut_greedily(task: Task, filler: Filler) -> Cutting:
    """Return the cutting that fills one roll after the other; what is left is on the last."""
    rest: Sequence[int] = task.counts
    runs: list[Run] = []
    for t, rolls in enumerate(task.full):
        while rolls:
            pattern = filler(task.sizes, rest, task.rooms[t])
            times = min(rolls, repeats(pattern, rest))
            if not times:
                break
            runs.append((t, pattern, times))
            rest = less(rest, pattern, times)
            rolls -= times
    return Cutting(runs=tuple(runs), last=tuple(rest))


def _settled(shares: tuple[Share, ...], task: Task) -> tuple[Run, ...]:
    """Return the rolls that a relaxation cuts whole; if none, one roll of its main pattern."""
    left, rest = list(task.full), list(task.counts)
    runs = []
    for room, pattern, share in shares:
        times = min(int(share + 1e-6), left[room], repeats(pattern, rest))
        if times:
            runs.append((room, pattern, times))
            left[room] -= times
            rest = less(rest, pattern, times)
    if not runs:
        runs = [(room, pattern, 1) for room, pattern, _ in shares[:1]]
    return tuple(runs)


def _widened(pattern: Pattern, kinds: Sequence[int], rest: Sequence[int]) -> Pattern:
    """Return a pattern of some kinds as one of all kinds."""
    wide = [0] * len(rest)
    for k, count in zip(kinds, pattern, strict=True):
        wide[k] = count
    return tuple(wide)
