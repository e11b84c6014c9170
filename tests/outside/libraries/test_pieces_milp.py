"""Layouts of pieces against a mixed-integer model solved by HiGHS (scipy.optimize.milp).

The model is written from the rules of the trade, not from the search: a variable for each piece
between two marks, for each return, and for each pair of neighbouring fixings. The layout, the
search's own count of its cost and the model must agree on the number of pieces in overlong
spans, of pieces, and on the mesh. Lengths are small whole numbers, so there is no tolerance.

By hand, for as many random runs as wanted: python tests/outside/libraries/test_pieces_milp.py 5000
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[3]))

from service.calc.pieces import KeepOff, PieceLayout, PieceRules, Reach, Run, Zone, lay_pieces
from service.calc.pieces.best import best_layout
from service.calc.pieces.tight import tight_layout
from service.calc.pieces.trace import Best
from service.calc.pieces.track import Track

SPAN_COST, PIECE_COST = 1_000_000, 1_000


def zones_under(run: Run, low: int, high: int) -> list[Zone]:
    """The zones that a stretch lies in for more than a point."""
    turns = range(-3, 4) if run.closed else (0,)
    return [
        zone
        for zone in run.zones
        if any(
            min(high, zone.end_nm + turn * run.length_nm)
            > max(low, zone.start_nm + turn * run.length_nm)
            for turn in turns
        )
    ]


def span_kept(run: Run, low: int, high: int) -> bool:
    spans = [zone.span_nm for zone in zones_under(run, low, high) if zone.span_nm is not None]
    return all(high - low <= span for span in spans)


class Statement:
    """A run with its rules, mark by mark: lap, place and reach of every possible break."""

    def __init__(self, run: Run, rules: PieceRules) -> None:
        self.run, self.rules, self.length = run, rules, run.length_nm
        first = 0 if run.closed else rules.grid_nm
        marks = range(first, run.length_nm, rules.grid_nm)
        laps = [self.lap(at) for at in range(1, run.length_nm + 1)]
        self.laps = {mark: self.lap(mark or run.length_nm) for mark in marks}
        self.breaks = [mark for mark in marks if self.has_place(mark)]
        whole = run.length_nm + (min(laps) if run.closed else 0)
        self.least = min(max(rules.least_piece_nm, max(laps) + 1), whole)
        reached = {mark: self.reach(mark) for mark in self.breaks}
        self.returns = {mark: length for mark, length in reached.items() if length is not None}
        self.end_return = None if run.closed else self.reach(run.length_nm)
        self.judged = any(zone.span_nm is not None for zone in run.zones)
        self.lacking = self.stand_ins() if self.judged else []
        self.tabs = sorted({*run.tabs_nm, *self.lacking})

    def lap(self, end: int) -> int:
        lap = self.rules.grid_nm
        while any(zone.lap_nm > lap for zone in zones_under(self.run, end - lap, end)):
            lap += self.rules.grid_nm
        return lap

    def has_place(self, end: int) -> bool:
        turns = range(-3, 4) if self.run.closed else (0,)
        points = [
            (point.at_nm + turn * self.length, point.distance_nm)
            for point in self.run.keep_off
            for turn in turns
        ]
        start = end - self.laps[end]
        return all(at + far <= start or end + far <= at for at, far in points)

    def reach(self, end: int) -> int | None:
        turns = (-1, 0, 1) if self.run.closed else (0,)
        lengths = [
            reach.return_nm
            for reach in self.run.reaches
            for turn in turns
            if reach.start_nm <= end + turn * self.length <= reach.end_nm
        ]
        return min(lengths, default=None)

    def stand_ins(self) -> list[int]:
        """Fixings lacking in any layout, spread evenly where none is possible over a span."""
        possible = {*self.run.tabs_nm}
        possible |= {
            mark
            for mark, length in self.returns.items()
            if length + self.least <= self.rules.piece_nm
        }
        if self.end_return is not None:
            possible.add(self.length)
        if self.run.closed:
            bounds = sorted(possible)
            if not bounds:
                return self.spread(0, self.length, 0)[:-1]
            bounds.append(bounds[0] + self.length)
        else:
            bounds = sorted({0, *possible, self.length})
            if not possible:
                return self.spread(0, self.length, 1)[1:-1]
        found = [at for low, high in pairwise(bounds) for at in self.spread(low, high, 0)[1:-1]]
        return sorted(at % self.length for at in found)

    def spread(self, low: int, high: int, fewest: int) -> list[int]:
        count = fewest
        while True:
            found = [low + (high - low) * at // (count + 1) for at in range(count + 2)]
            if all(span_kept(self.run, *pair) for pair in pairwise(found)):
                return found
            count += 1


class Model:
    """The mixed-integer model of one statement."""

    def __init__(self, statement: Statement) -> None:
        self.told = statement
        self.costs: list[int] = []
        self.upper: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.broken: dict[int, int] = {}
        self.turned: dict[int, int] = {}
        self.add_breaks()
        self.add_pieces()
        if statement.judged:
            self.add_spans()

    def variable(self, cost: int = 0, *, upper: float = 1, whole: bool = True) -> int:
        self.costs.append(cost)
        self.upper.append(upper)
        self.whole.append(int(whole))
        return len(self.costs) - 1

    def demand(self, terms: dict[int, float], low: float, high: float) -> None:
        self.rows.append((terms, low, high))

    def add_breaks(self) -> None:
        told = self.told
        for mark in told.breaks:
            self.broken[mark] = self.variable(told.laps[mark])
        for mark, length in told.returns.items():
            self.turned[mark] = self.variable(length)
            self.demand({self.turned[mark]: 1, self.broken[mark]: -1}, -np.inf, 0)
        if not told.run.closed:
            end = told.length
            self.broken[end] = self.variable()
            self.demand({self.broken[end]: 1}, 1, 1)
            if told.end_return is not None:
                self.turned[end] = self.variable(told.end_return)

    def add_pieces(self) -> None:
        """Pieces join breaks to one way along the run, and each is cut from one piece length."""
        told, run = self.told, self.told.run
        begun: dict[int, dict[int, float]] = {mark: {} for mark in self.broken}
        ended: dict[int, dict[int, float]] = {mark: {} for mark in self.broken}
        cut: dict[int, dict[int, float]] = {mark: {} for mark in self.broken}
        once_round: dict[int, float] = {}
        for start in [*told.breaks, *([] if run.closed else [0])]:
            for end in self.broken:
                apart = (end - start - 1) % told.length + 1 if run.closed else end - start
                lap = told.laps[start] if run.closed or start else 0
                if apart <= 0 or not told.least <= apart + lap <= told.rules.piece_nm:
                    continue
                piece = self.variable(PIECE_COST)
                if run.closed or start:
                    begun[start][piece] = 1
                ended[end][piece] = 1
                cut[end][piece] = apart + lap
                once_round[piece] = apart
        for mark, broken in self.broken.items():
            self.demand({**ended[mark], broken: -1}, 0, 0)
            if run.closed or mark < told.length:
                self.demand({**begun[mark], broken: -1}, 0, 0)
            if mark in self.turned:
                length = told.end_return if mark == told.length else told.returns[mark]
                assert length is not None
                self.demand({**cut[mark], self.turned[mark]: length}, -np.inf, told.rules.piece_nm)
        if run.closed:
            self.demand(once_round, told.length, told.length)

    def add_spans(self) -> None:
        """Fixings follow one another once round or from end to end; overlong spans cost."""
        told, run = self.told, self.told.run
        fixed = sorted({*told.tabs, *self.turned})
        out: dict[int, dict[int, float]] = {at: {} for at in fixed}
        into: dict[int, dict[int, float]] = {at: {} for at in fixed}
        round_run: dict[int, float] = {}
        for low in fixed:
            for high in fixed:
                apart = (high - low - 1) % told.length + 1 if run.closed else high - low
                if apart > 0:
                    span = self.span(low, low + apart)
                    out[low][span] = into[high][span] = 1
                    round_run[span] = apart
        if not run.closed:
            self.add_ends(fixed, out, into)
        for at in fixed:
            for sides in (out[at], into[at]):
                if at in told.tabs:
                    self.demand(sides, 1, 1)
                else:
                    self.demand({**sides, self.turned[at]: -1}, 0, 0)
        if run.closed and told.tabs:
            self.demand(round_run, told.length, told.length)
        elif run.closed:
            self.add_unfixed(round_run)

    def add_ends(
        self, fixed: list[int], out: dict[int, dict[int, float]], into: dict[int, dict[int, float]]
    ) -> None:
        """From the one end of an open run to the first fixing, from the last to the other end."""
        bare = self.span(0, self.told.length, anyway=True)
        first: dict[int, float] = {bare: 1}
        last: dict[int, float] = {bare: 1}
        for at in fixed:
            low, high = self.span(0, at, from_end=True), self.span(at, self.told.length)
            into[at][low] = first[low] = 1
            out[at][high] = last[high] = 1
        self.demand(first, 1, 1)
        self.demand(last, 1, 1)

    def add_unfixed(self, round_run: dict[int, float]) -> None:
        """A loop without tabs may have no fixing at all, which is one span with all its laps."""
        none = self.variable(SPAN_COST)
        self.demand({**round_run, none: self.told.length}, self.told.length, self.told.length)
        for turned in self.turned.values():
            self.demand({turned: 1, none: 1}, -np.inf, 1)
        self.count_laps(none, list(self.broken.values()), [])

    def span(self, low: int, high: int, *, anyway: bool = False, from_end: bool = False) -> int:
        """A variable that says these two fixings are neighbours."""
        told = self.told
        if span_kept(told.run, low, high) and not anyway:
            return self.variable()
        inside, unturned = [], []
        for mark, broken in self.broken.items():
            for at in (mark, mark + told.length) if told.run.closed else (mark,):
                if low < at < high:
                    inside.append(broken)
                elif at == low and not from_end and not anyway:
                    inside.append(broken)
                    unturned += [self.turned[mark]] if mark in self.turned else []
        span = self.variable(SPAN_COST)
        self.count_laps(span, inside, unturned)
        return span

    def count_laps(self, span: int, inside: list[int], unturned: list[int]) -> None:
        """An overlong span costs once more for every lap inside it that is not a return."""
        if inside:
            laps = self.variable(SPAN_COST, upper=len(inside), whole=False)
            terms: dict[int, float] = {laps: -1, span: len(inside)}
            for broken in inside:
                terms[broken] = terms.get(broken, 0) + 1
            for turned in unturned:
                terms[turned] = terms.get(turned, 0) - 1
            self.demand(terms, -np.inf, len(inside))

    def solve(self) -> tuple[int, int, int] | None:
        if any(not terms and not low <= 0 <= high for terms, low, high in self.rows):
            return None
        entries = [
            (row, column, value)
            for row, (terms, _, _) in enumerate(self.rows)
            for column, value in terms.items()
        ]
        rows, columns, values = zip(*entries, strict=True)
        shape = (len(self.rows), len(self.costs))
        solved = milp(
            self.costs,
            integrality=self.whole,
            bounds=Bounds(0, self.upper),
            constraints=LinearConstraint(
                coo_array((values, (rows, columns)), shape=shape).tocsr(),
                [low for _, low, _ in self.rows],
                [high for _, _, high in self.rows],
            ),
            options={"mip_rel_gap": 0},
        )
        if solved.status == 2:
            return None
        assert solved.status == 0, solved.message
        cost = round(solved.fun)
        return cost // SPAN_COST, cost % SPAN_COST // PIECE_COST, cost % PIECE_COST


def random_run(rng: random.Random) -> tuple[Run, PieceRules]:
    """A small run on a coarse grid: loops and open runs, dense and bare, on and off the grid."""
    grid = rng.choice([1, 2, 3, 4])
    length = max(grid * rng.randint(3, 13) + rng.choice([0, 0, -1, 1]), 3)
    cuts = rng.sample(range(1, length), k=min(rng.choice([0, 0, 1, 2, 3]), length - 1))
    bounds = sorted({0, length, *cuts})
    spans = rng.choice([(2, 5), (3, 9), (1, 12), None])
    zones = tuple(
        Zone(
            start_nm=low,
            end_nm=high,
            lap_nm=rng.choice([1, grid, grid, 2 * grid]),
            span_nm=grid * rng.randint(*spans) if spans and rng.random() < 0.9 else None,
        )
        for low, high in pairwise(bounds)
    )
    tabs = rng.sample(range(length), k=min(rng.choice([0, 0, 0, 1, 2, 3]), length))
    reaches, at = [], 0
    while at < length and rng.random() < 0.85:
        low = min(at + rng.randint(0, 2 * grid), length)
        high = min(low + rng.randint(0, 7 * grid), length)
        reaches.append(Reach(start_nm=low, end_nm=high, return_nm=rng.randint(1, 3 * grid)))
        at = high + 1
    points = [rng.randrange(length) for _ in range(rng.choice([0, 0, 1, 2]))]
    points += [tab for tab in tabs if rng.random() < 0.5]
    keep_off = tuple(KeepOff(at_nm=at, distance_nm=rng.randint(0, grid)) for at in points)
    longest_lap = max(-(-zone.lap_nm // grid) * grid for zone in zones)
    run = Run(
        length_nm=length,
        closed=rng.random() < 0.6,
        zones=zones,
        tabs_nm=tuple(sorted(tabs)),
        reaches=tuple(reach for reach in reaches if reach.start_nm < length),
        keep_off=keep_off,
    )
    rules = PieceRules(
        piece_nm=longest_lap + grid + rng.randint(0, 5 * grid),
        grid_nm=grid,
        least_piece_nm=min(rng.choice([0, 0, grid, 3 * grid]), longest_lap + grid),
    )
    return run, rules


def measured(told: Statement, layout: PieceLayout) -> tuple[int, int, int]:
    """Pieces in overlong spans, pieces and mesh of a layout, counted on the layout itself."""
    run = told.run
    ends = [piece.end_nm for piece in layout.pieces]
    plain = [piece.end_nm for piece in layout.pieces if piece.return_nm is None]
    mesh = sum(piece.cut_nm for piece in layout.pieces) - told.length
    fixed = sorted({*told.tabs, *(made.at_nm for made in layout.returns)})
    overlong = 0
    if told.judged and run.closed:
        if not fixed:
            return 1 + len(ends), len(ends), mesh
        for low, high in pairwise([*fixed, fixed[0] + told.length]):
            if not span_kept(run, low, high):
                overlong += 1 + sum((end - low) % told.length < high - low for end in plain)
    elif told.judged:
        for low, high in pairwise(sorted({0, *fixed, told.length})):
            if not span_kept(run, low, high) or not fixed:
                overlong += 1 + sum(low <= end < high for end in plain)
    return overlong, len(ends), mesh


def random_plain_loop(rng: random.Random) -> tuple[Run, PieceRules]:
    """A small loop as most are: one zone, tabs, returns of one length."""
    grid = rng.choice([1, 2, 3])
    length = max(grid * rng.randint(5, 16) + rng.choice([0, 0, -1, 1]), 6)
    lap, reach = grid * rng.choice([1, 1, 2]), grid * rng.randint(3, 8)
    span = grid * rng.randint(2, 8)
    low = rng.randrange(length)
    around = Reach(start_nm=low, end_nm=low + rng.randint(0, length), return_nm=rng.randint(1, 4))
    points = [rng.randrange(length) for _ in range(rng.choice([0, 1, 2]))]
    run = Run(
        length_nm=length,
        closed=True,
        zones=(Zone(start_nm=0, end_nm=length, lap_nm=lap, span_nm=span),),
        tabs_nm=tuple(sorted(rng.sample(range(length), k=rng.choice([1, 2, 3])))),
        reaches=(around,),
        keep_off=tuple(KeepOff(at_nm=at, distance_nm=rng.randint(0, grid)) for at in points),
    )
    return run, PieceRules(piece_nm=lap + reach, grid_nm=grid, least_piece_nm=rng.choice([0, grid]))


Maker = Callable[[random.Random], tuple[Run, PieceRules]]


def compare(seed: int, made: Maker = random_run) -> str:
    """Lay out one random run both ways; return what it was."""
    run, rules = made(random.Random(seed))
    told = Statement(run, rules)
    wanted = Model(told).solve()
    layout = lay_pieces(run, rules)
    shape = "loop" if run.closed else "open"
    if layout.conflicts or wanted is None:
        assert wanted is None, (seed, wanted, layout)
        assert layout.conflicts, (seed, layout)
        return f"{shape} without a place for a lap"
    assert measured(told, layout) == wanted, (seed, wanted, layout)
    best = best_layout(Track(run, rules))
    assert isinstance(best, Best)
    assert best.cost == wanted, (seed, wanted, best)
    tight = tight_layout(Track(run, rules))
    if tight is not None and not told.lacking:
        assert tight.floor <= wanted, (seed, wanted, tight)
        if tight.best is not None:
            assert tight.best.cost == wanted, (seed, wanted, tight)
            return f"{shape} without a search"
    return f"{shape} with overlong spans" if wanted[0] else shape


@pytest.mark.parametrize("block", range(10))
def test_layouts_cost_what_the_mixed_integer_optimum_costs(block):
    kinds = {compare(seed) for seed in range(40 * block, 40 * block + 40)}
    assert {"loop", "open"} <= kinds


@pytest.mark.parametrize("block", range(10))
def test_what_is_found_without_a_search_costs_what_the_mixed_integer_optimum_costs(block):
    seeds = range(40 * block, 40 * block + 40)
    kinds = [compare(seed, random_plain_loop) for seed in seeds]
    assert kinds.count("loop without a search") > 5
    assert "loop" in kinds


if __name__ == "__main__":
    tally: dict[str, int] = {}
    for number in range(int(sys.argv[1])):
        kind = compare(10_000 + number, random_plain_loop if number % 2 else random_run)
        tally[kind] = tally.get(kind, 0) + 1
    print(tally)
