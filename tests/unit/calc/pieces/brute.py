"""Every layout of a small run, tried one after another: what the search must come to."""

from __future__ import annotations

import random
from functools import cache
from itertools import pairwise

from gapwright.calc.pieces import KeepOff, PieceRules, Reach, Run, RunZone

Rank = tuple[int, int, int]


def touched(run: Run, low: int, high: int) -> list[RunZone]:
    """The zones that a stretch lies in for more than a point."""
    turns = range(-3, 5) if run.closed else (0,)
    return [
        zone
        for zone in run.zones
        if any(
            min(high, zone.end_nm + turn * run.length_nm)
            > max(low, zone.start_nm + turn * run.length_nm)
            for turn in turns
        )
    ]


def reach(run: Run, at: int) -> int:
    """The farthest place of the next fixing, by every zone in between."""
    far = at
    while far < at + 2 * run.length_nm:
        spans = [zone.span_nm for zone in touched(run, at, far + 1) if zone.span_nm]
        if any(far + 1 - at > span for span in spans):
            break
        far += 1
    return far


def unsupported(run: Run, fixings: set[int]) -> int:
    """The length beyond the reach of the fixing before it."""
    if all(zone.span_nm is None for zone in run.zones):
        return 0
    if not fixings:
        return run.length_nm
    bounds = sorted(fixings)
    bounds = [*bounds, bounds[0] + run.length_nm] if run.closed else [0, *bounds, run.length_nm]
    return sum(max(b - reach(run, a), 0) for a, b in pairwise(bounds))


class Brute:
    """All layouts from one start."""

    def __init__(self, run: Run, rules: PieceRules, start: int) -> None:
        self.run, self.rules, self.grid = run, rules, rules.grid_nm
        need = max(-(-zone.overlap_nm // self.grid) for zone in run.zones)
        self.longest = max(need, rules.most_overlap_nm // self.grid)
        self.least = max(-(-rules.min_piece_length_nm // self.grid), self.longest + 1)
        self.judged = any(zone.span_nm for zone in run.zones)
        self.seam = 0
        self.first = 0
        if run.closed:
            off = max((p.distance_nm for p in run.keep_off if p.at_nm == start), default=0)
            tab = start in run.tabs_nm
            self.seam = -run.length_nm % self.grid or self.grid
            while True:
                self.first = start - off - self.seam if tab else start + off
                zones = touched(run, self.first, self.first + self.seam)
                if max(zone.overlap_nm for zone in zones) <= self.seam:
                    break
                self.seam += self.grid
        self.end = self.first + run.length_nm + self.seam

    def clear(self, low: int, high: int) -> bool:
        turns = range(-3, 4) if self.run.closed else (0,)
        return all(
            at + p.distance_nm <= low or high + p.distance_nm <= at
            for p in self.run.keep_off
            for at in (p.at_nm + turn * self.run.length_nm for turn in turns)
        )

    def returned(self, at: int) -> int | None:
        if self.first < at < self.first + self.seam:
            return None
        turns = range(-3, 4) if self.run.closed else (0,)
        return min(
            (
                r.return_nm
                for r in self.run.reaches
                for turn in turns
                if r.start_nm <= at + turn * self.run.length_nm <= r.end_nm
            ),
            default=None,
        )

    def tab_in(self, low: int, high: int) -> bool:
        turns = range(-3, 4) if self.run.closed else (0,)
        return any(
            low < tab + turn * self.run.length_nm <= high
            for tab in self.run.tabs_nm
            for turn in turns
        )

    def best(self) -> Rank | None:
        run = self.run
        if run.closed and not self.clear(self.first, self.first + self.seam):
            return None
        if not run.closed:
            return min(
                (rank for s in (False, True) for e in (False, True) if (rank := self.ranked(s, e))),
                default=None,
            )
        if run.tabs_nm or not self.judged:
            return self.ranked(False, False)
        sides = [
            (True, False) if self.returned(self.first) else None,
            (False, True) if self.returned(self.end) else None,
        ]
        ranks = [self.ranked(*side) for side in sides if side]
        found = [rank for rank in ranks if rank]
        if found:
            return min(found)
        return self.ranked(False, False)

    def ranked(self, start_turned: bool, end_turned: bool) -> Rank | None:
        """Layouts are told apart by where they are and by the last fixing they have had."""
        run, rules = self.run, self.rules
        own = self.returned(self.first) if start_turned else 0
        if own is None or (not self.judged and (start_turned or end_turned)):
            return None
        # what is behind the first tab of a loop is judged as its end, one time round later
        last = self.first if start_turned or not run.closed or not run.tabs_nm else None
        last = self.end - run.length_nm if end_turned and run.closed else last
        any_fixing = bool(run.tabs_nm) or start_turned or (end_turned and run.closed)
        cost = rules.return_weight_nm if start_turned else 0
        now = {(self.first, own, last, any_fixing): (0, cost)}
        best: Rank | None = None
        for pieces in range(1, (self.end - self.first) // self.grid + 2):
            following: dict[tuple[int, int, int | None, bool], tuple[int, int]] = {}
            for (begin, used, last, fixed), (late, cost) in now.items():
                for end, made, paid in self.pieces(begin, used, end_turned):
                    if end == self.end:
                        rank = late + self.close(last, fixed, made), pieces, cost + paid
                        best = min(best or rank, rank)
                        continue
                    for begun, mesh, fixing, extra in self.joints(end, made, last, self.first):
                        lost = late + (self.lost(last, fixing) if fixing is not None else 0)
                        key = (
                            begun,
                            mesh,
                            last if fixing is None else fixing,
                            fixed or fixing is not None,
                        )
                        total = lost, cost + paid + extra
                        following[key] = min(following.get(key, total), total)
            now = following
        return best

    def tabs(self, low: int, high: int) -> list[int]:
        turns = range(-3, 4) if self.run.closed else (0,)
        every = (tab + turn * self.run.length_nm for tab in self.run.tabs_nm for turn in turns)
        return sorted(tab for tab in every if low < tab < high)

    @cache  # noqa: B019
    def lost(self, last: int | None, fixing: int) -> int:
        """What is unsupported from one return, or the first tab, to the next."""
        if not self.judged:
            return 0
        bounds = [*self.tabs(self.first if last is None else last, fixing), fixing]
        bounds = bounds if last is None else [last, *bounds]
        return sum(max(b - self.reach(a), 0) for a, b in pairwise(bounds))

    @cache  # noqa: B019
    def reach(self, at: int) -> int:
        return reach(self.run, at)

    def close(self, last: int | None, fixed: bool, made: bool) -> int:
        run = self.run
        if not self.judged:
            return 0
        if not fixed and not made:
            return run.length_nm
        end = self.first + run.length_nm
        if run.closed and run.tabs_nm:
            end = self.tabs(self.first, self.first + 2 * run.length_nm)[0] + run.length_nm
        return self.lost(last, self.end if made else end)

    def pieces(self, begin: int, used: int, end_turned: bool):
        rules = self.rules
        for number in range(1, rules.piece_nm // self.grid + 2):
            end = min(begin + number * self.grid, self.end)
            last = end == self.end
            if end - begin < self.least * self.grid and not (last and begin == self.first):
                continue
            for made in (False, True):
                if last and made != end_turned:
                    continue
                mesh = self.returned(end) if made else 0
                if mesh is None or (made and not self.judged):
                    continue
                mesh += end - begin + used
                if mesh <= rules.piece_nm:
                    cost = mesh + (rules.cut_weight_nm if mesh < rules.piece_nm else 0)
                    yield end, made, cost + (rules.return_weight_nm if made else 0)
            if last:
                return

    def joints(self, end: int, made: bool, last: int | None, first: int):
        for overlaps in range(1, self.longest + 1):
            begin = end - overlaps * self.grid
            if begin <= first or not self.clear(begin, end):
                continue
            need = max(
                -(-z.overlap_nm // self.grid) * self.grid for z in touched(self.run, begin, end)
            )
            if not need <= end - begin <= max(need, self.rules.most_overlap_nm):
                continue
            tab = self.tab_in(begin, end)
            if made:
                if not tab and (last is None or end > last):
                    yield begin, 0, end, 0
                continue
            yield begin, 0, None, 0
            mesh = self.returned(begin)
            if mesh and self.judged and not tab and (last is None or begin > last):
                yield begin, mesh, begin, self.rules.return_weight_nm


def brute(run: Run, rules: PieceRules) -> Rank | None:
    starts = (run.starts_nm or run.tabs_nm[:1] or (0,)) if run.closed else (0,)
    ranks = [Brute(run, rules, start).best() for start in starts]
    return min((rank for rank in ranks if rank), default=None)


def random_run(rng: random.Random) -> tuple[Run, PieceRules]:
    """A small run on a coarse grid: loops and open runs, dense and bare, on and off the grid."""
    grid = rng.choice([1, 2, 3])
    length = max(grid * rng.randint(4, 18) + rng.choice([0, 0, -1, 1]), 6)
    cuts = rng.sample(range(1, length), k=rng.choice([0, 0, 0, 1, 2]))
    bounds = sorted({0, length, *cuts})
    spans = rng.choice([(2, 5), (3, 9), (4, 14), None])
    zones = tuple(
        RunZone(
            start_nm=low,
            end_nm=high,
            overlap_nm=rng.choice([1, grid, grid, 2 * grid]),
            span_nm=grid * rng.randint(*spans) if spans and rng.random() < 0.9 else None,
        )
        for low, high in pairwise(bounds)
    )
    closed = rng.random() < 0.6
    tabs = tuple(sorted(rng.sample(range(length), k=rng.choice([0, 1, 1, 2, 3]))))
    reaches, at = [], 0
    while at < length and rng.random() < 0.85:
        low = min(at + rng.randint(0, 2 * grid), length - 1)
        high = min(low + rng.randint(0, 12 * grid), length)
        mesh = grid * rng.randint(1, 3) + rng.choice([0, 0, 1])
        reaches.append(Reach(start_nm=low, end_nm=high, return_nm=mesh))
        at = high + 1
    points = [rng.randrange(length) for _ in range(rng.choice([0, 0, 1, 2]))]
    points += [tab for tab in tabs if rng.random() < 0.5]
    longest = max(-(-zone.overlap_nm // grid) * grid for zone in zones)
    starts = tabs if tabs else tuple(points[:2])
    run = Run(
        length_nm=length,
        closed=closed,
        zones=zones,
        tabs_nm=tabs,
        reaches=tuple(reaches),
        keep_off=tuple(KeepOff(at_nm=at, distance_nm=rng.randint(0, grid)) for at in points),
        starts_nm=starts if closed else (),
    )
    # a return is made for support only, even where it would make a piece a standard one
    cut_weight = rng.choice([0, 1, 2 * grid])
    rules = PieceRules(
        piece_nm=longest + grid * rng.randint(2, 8) + rng.choice([0, 0, 1]),
        grid_nm=grid,
        min_piece_length_nm=rng.choice([0, 0, grid]),
        most_overlap_nm=rng.choice([0, 0, longest + grid]),
        cut_weight_nm=cut_weight,
        return_weight_nm=cut_weight + rng.choice([0, 1, 4 * grid]),
    )
    return run, rules
