"""The last word on a cut plan: find a better one, or go through all that could be better."""

from __future__ import annotations

import msgspec

from service.calc.rolls.fill import Pattern, Work, total
from service.calc.rolls.relax import SCALE, Prices, Task
from service.calc.rolls.worth import Offer, patterns_worth

Run = tuple[int, Pattern, int]
"""Type of roll, pattern, and how many rolls are cut so."""


_DEEPEST = 150


class Cutting(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The runs of full rolls, and the pattern of the last roll."""

    runs: tuple[Run, ...]
    last: Pattern


def dig(task: Task, prices: Prices, most: int, work: Work) -> Cutting | None:
    """Return the cutting that uses least of the last roll, if it can be `most` or under.

    Exhaustive while `work` holds: None is then a proof that there is none. A pattern that
    wastes more worth than `most` allows can be left out, which leaves few. Limits: gives up,
    as if `work` had run out, past 150 patterns in one cutting.
    """
    search = _Search(task, most, most * SCALE - prices.owed, work)
    pool = search.pool(prices)
    if pool and work.left >= 0:
        search.descend(search.pack(task.counts), 0, pool, 0)
    return search.best


class _Entry(msgspec.Struct, frozen=True, gc=False):
    """A pattern with its wasted worth; `packed` holds its counts side by side in one integer."""

    waste: int
    room: int
    packed: int
    pattern: Pattern


class _Search:
    """Depth first: the longest piece not yet placed goes into some pattern, or on the last roll.

    A pattern that was tried for it is out of the search afterwards, so that no set of patterns
    comes up twice. Counts are packed with a guard bit each: one subtraction tells whether a
    pattern can be cut from what is left.
    """

    def __init__(self, task: Task, most: int, slack: int, work: Work) -> None:
        self.task, self.most, self.slack, self.work = task, most, slack, work
        self.bits = max(task.counts).bit_length() + 1
        kinds = range(len(task.sizes))
        self.fields = [((1 << (self.bits - 1)) - 1) << (self.bits * k) for k in kinds]
        self.guards = sum(1 << (self.bits * k + self.bits - 1) for k in kinds)
        self.left = list(task.full)
        self.chosen: list[Run] = []
        self.best: Cutting | None = None

    def pack(self, counts: Pattern) -> int:
        """Return counts side by side in one integer."""
        return sum(count << (self.bits * k) for k, count in enumerate(counts))

    def unpack(self, packed: int) -> Pattern:
        """Return the counts that `pack` put together."""
        return tuple((packed & field) >> (self.bits * k) for k, field in enumerate(self.fields))

    def pool(self, prices: Prices) -> list[_Entry]:
        """Return the patterns that waste no more worth than `slack`, the thriftiest first."""
        task = self.task
        offer = Offer(worth=prices.worth, sizes=task.sizes, counts=task.counts)
        found = [
            (top - value, -total(task.sizes, pattern), t, pattern)
            for t, (room, top) in enumerate(zip(task.rooms, prices.tops, strict=True))
            if task.full[t]
            for value, pattern in patterns_worth(offer, room, top - self.slack - 1, self.work)
        ]
        found.sort()
        return [_Entry(waste, t, self.pack(pattern), pattern) for waste, _, t, pattern in found]

    def descend(self, rest: int, wasted: int, pool: list[_Entry], settled: int) -> None:
        """Place what is in `rest`; the kinds in `settled` go on the last roll, all of them."""
        if len(self.chosen) > _DEEPEST:
            self.work.left = -1
        if not self.work.spend(8 + len(pool) // 4):
            return
        field = next((f for f in self.fields if rest & f and not settled & f), None)
        if field is None or not any(self.left):
            self._keep(rest)
            return
        for entry in [entry for entry in pool if entry.packed & field]:
            pool = [other for other in pool if other is not entry]
            self._try(entry, rest, wasted, pool, settled)
            if self.work.left < 0:
                return
        settled |= field
        if total(self.task.sizes, self.unpack(rest & settled)) <= self.most:
            self.descend(rest, wasted, pool, settled)

    def _try(
        self, entry: _Entry, rest: int, wasted: int, others: list[_Entry], settled: int
    ) -> None:
        """Cut a pattern as often as can be, then once less, and so on."""
        for times in range(self._times(entry, rest, wasted), 0, -1):
            after, waste = rest - times * entry.packed, wasted + times * entry.waste
            self.left[entry.room] -= times
            self.chosen.append((entry.room, entry.pattern, times))
            self.work.spend(len(others) // 4)
            self.descend(after, waste, self._usable(others, after, waste), settled)
            self.chosen.pop()
            self.left[entry.room] += times
            if self.work.left < 0:
                return

    def _times(self, entry: _Entry, rest: int, wasted: int) -> int:
        most = self.left[entry.room]
        if entry.waste:
            most = min(most, (self.slack - wasted) // entry.waste)
        for k, count in enumerate(entry.pattern):
            if count:
                most = min(most, ((rest & self.fields[k]) >> (self.bits * k)) // count)
        return most

    def _usable(self, pool: list[_Entry], rest: int, wasted: int) -> list[_Entry]:
        """Return the patterns that can still be cut, and be afforded."""
        slack, left, guards, base = self.slack - wasted, self.left, self.guards, rest | self.guards
        return [
            e
            for e in pool
            if e.waste <= slack and left[e.room] and (base - e.packed) & guards == guards
        ]

    def _keep(self, rest: int) -> None:
        """Keep a cutting that is good enough, and ask for a better one from here on."""
        last = self.unpack(rest)
        used = total(self.task.sizes, last)
        if used <= self.most:
            self.slack -= (self.most - used + 1) * SCALE
            self.most = used - 1
            self.best = Cutting(runs=tuple(self.chosen), last=last)
