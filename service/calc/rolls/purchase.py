"""Which rolls to buy: the shortest length in all, then the fewest, then the longest remnant."""

from __future__ import annotations

from math import gcd

import msgspec

from service.calc.rolls.fill import Pattern, Work, total
from service.calc.rolls.orders import Job, Key, Order, orders_between
from service.calc.rolls.proof import Run
from service.calc.rolls.relax import Task
from service.calc.rolls.search import FILLERS, Outcome, cut_greedily, use_least_of_last
from service.quantity.whole import whole

_ORDER_STEPS = 50


class Purchase(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The rolls bought and how each is cut, and what no other purchase can beat."""

    runs: tuple[Run, ...]
    key: Key
    least_key: Key
    remnant_bound_nm: int


def purchase(job: Job, work: Work) -> Purchase:
    """Return the best purchase found, with its bounds.

    All that fits on one roll of the shortest length is cut from it. Otherwise orders are tried
    from the cheapest up, so the first that can be cut is the best. Limits: with three or more
    stocked lengths only so many of the shorter rolls are tried; where that leaves orders out, the
    bound falls back on the length of all the pieces.
    """
    if total(job.sizes_nm, job.counts) <= job.stock_nm[-1] + job.kerf_nm:
        return _one_shortest(job)
    buyer = _Buyer(job, work)
    low = total(job.lengths_nm, job.counts)
    least = whole(low, gcd(*job.stock_nm)) * gcd(*job.stock_nm)
    while True:
        orders, complete = orders_between(job, low, low + job.stock_nm[0])
        if not complete:
            buyer.undecided.append((least, whole(least, job.stock_nm[0])))
        for order in orders:
            if buyer.best is not None and job.key(order) > buyer.best.key:
                return buyer.result(buyer.best)
            buyer.consider(order)
        low += job.stock_nm[0]


def _one_shortest(job: Job) -> Purchase:
    """Return the purchase of one roll of the shortest length: less cannot be bought."""
    shortest = len(job.stock_nm) - 1
    key = job.stock_nm[shortest], 1
    return Purchase(
        runs=((shortest, job.counts, 1),),
        key=key,
        least_key=key,
        remnant_bound_nm=job.remnant_nm(shortest, job.counts),
    )


class _Found(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    runs: tuple[Run, ...]
    key: Key
    remnant_nm: int


class _Buyer:
    """The best purchase so far and everything that could still beat it."""

    def __init__(self, job: Job, work: Work) -> None:
        self.job, self.work = job, work
        self.unit = gcd(*job.sizes_nm)
        self.sizes = tuple(size // self.unit for size in job.sizes_nm)
        self.rooms = tuple((length + job.kerf_nm) // self.unit for length in job.stock_nm)
        self.best: _Found | None = None
        self.undecided: list[Key] = []
        self.ceilings: dict[Key, int] = {}

    def consider(self, order: Order) -> None:
        """Try an order, once for each type of roll that may be the one with the remnant."""
        if total(self.rooms, order) < total(self.sizes, self.job.counts):
            return
        if not self.work.spend(_ORDER_STEPS):
            self._give_up(self.job.key(order))
            return
        for last, rolls in enumerate(order):
            if rolls and not self._try(order, last):
                return

    def result(self, best: _Found) -> Purchase:
        return Purchase(
            runs=best.runs,
            key=best.key,
            least_key=min([best.key, *self.undecided]),
            remnant_bound_nm=max(best.remnant_nm, self.ceilings.get(best.key, 0)),
        )

    def _try(self, order: Order, last: int) -> bool:
        """Search one order with one last roll; return False if the order cannot be cut at all."""
        key, room, stock_nm = self.job.key(order), self.rooms[last], self.job.stock_nm[last]
        most = room
        if self.best is not None and self.best.key == key:
            most = min(room, (stock_nm - self.best.remnant_nm - 1) // self.unit)
        outcome = self._search(order, last, most)
        if outcome.cutting is not None:
            self._keep((*outcome.cutting.runs, (last, outcome.cutting.last, 1)))
        elif outcome.least <= most:
            self.undecided.append(key)
        if outcome.least <= most:
            ceiling = max(0, stock_nm - outcome.least * self.unit)
            self.ceilings[key] = max(self.ceilings.get(key, 0), ceiling)
        return outcome.least <= room

    def _give_up(self, key: Key) -> None:
        """Leave an order undecided; if nothing has been found yet, take the longest rolls."""
        spare = key[0] - total(self.job.lengths_nm, self.job.counts)
        self.undecided.append(key)
        self.ceilings[key] = max(0, min(spare, self.job.stock_nm[0]))
        if self.best is None:
            enough = (sum(self.job.counts), *(0 for _ in self.rooms[1:]))
            for filler in FILLERS:
                runs = cut_greedily(self._task(enough, 0), filler).runs
                self._keep(tuple((self._shortest(pattern), pattern, n) for _, pattern, n in runs))

    def _shortest(self, pattern: Pattern) -> int:
        """Return the type of the shortest roll that holds a pattern."""
        size = total(self.sizes, pattern)
        return max(t for t, room in enumerate(self.rooms) if room >= size)

    def _search(self, order: Order, last: int, most: int) -> Outcome:
        full = tuple(rolls - (t == last) for t, rolls in enumerate(order))
        with self.work.part(2) as work:
            return use_least_of_last(self._task(full, self.rooms[last]), most, work)

    def _task(self, full: Order, last: int) -> Task:
        return Task(
            sizes=self.sizes, counts=self.job.counts, rooms=self.rooms, full=full, last=last
        )

    def _keep(self, runs: tuple[Run, ...]) -> None:
        """Keep a cutting if it is the best so far; a roll left whole is not bought."""
        runs = tuple(run for run in runs if any(run[1]))
        rolls = [0] * len(self.rooms)
        for room, _, times in runs:
            rolls[room] += times
        remnant = max(self.job.remnant_nm(room, pattern) for room, pattern, _ in runs)
        found = _Found(runs=runs, key=self.job.key(rolls), remnant_nm=remnant)
        best = self.best
        if best is None or (found.key, -found.remnant_nm) < (best.key, -best.remnant_nm):
            self.best = found
