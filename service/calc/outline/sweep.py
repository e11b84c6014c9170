"""Which runs face each other with nothing between them: one sweep over them."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from math import inf

from service.calc.outline.edges import OverlapError, Rect, Run

Pair = tuple[Run, Run, int, int]


def width(pair: Pair) -> int:
    """Return the distance between the two runs of a pair."""
    return pair[1][0] - pair[0][0]


def box(pair: Pair, axis: int) -> Rect:
    """Return the box between the two runs; axis 0 for upright runs, 1 for level ones."""
    first, second, low, high = pair
    if axis == 0:
        return first[0], low, second[0], high
    return low, first[0], high, second[0]


def facing(runs: Sequence[Run], side: int, reach: int | None = None) -> list[Pair]:
    """Return the pairs of runs that face each other with nothing between them.

    Side BELOW looks across open roof, side ABOVE across material. A pair is (first, second,
    low, high): the stretch over which they face each other. Limits: at most `reach` apart.
    Errors: OverlapError where material begins inside material. Time: n log n.
    """
    starting: dict[int, list[Run]] = defaultdict(list)
    ending: dict[int, list[Run]] = defaultdict(list)
    for run in runs:
        starting[run[1]].append(run)
        ending[run[2]].append(run)
    sweep = _Sweep(side, reach)
    for at in sorted(starting.keys() | ending.keys()):
        sweep.step(at, ending.get(at, ()), starting.get(at, ()))
    return sweep.found


class _Sweep:
    """A line moving along the runs: which it crosses now, and which of them are a pair."""

    def __init__(self, side: int, reach: int | None) -> None:
        self.found: list[Pair] = []
        self._side = side
        self._reach = inf if reach is None else reach
        self._lines: list[int] = []
        self._crossed: dict[int, Run] = {}
        self._open: dict[int, tuple[Run, Run, int]] = {}

    def step(self, at: int, ending: Sequence[Run], starting: Sequence[Run]) -> None:
        lines, crossed = self._lines, self._crossed
        touched: set[int] = set()
        for run in ending:
            place = bisect_left(lines, run[0])
            del lines[place], crossed[run[0]]
            touched.add(run[0])
            if place:
                touched.add(lines[place - 1])
        for run in starting:
            place = bisect_left(lines, run[0])
            lines.insert(place, run[0])
            crossed[run[0]] = run
            touched.add(run[0])
            if place:
                touched.add(lines[place - 1])
        for line in touched:
            self._settle(line, at)

    def _settle(self, line: int, at: int) -> None:
        """Close the pair that was open at `line` if it changed, and open the one that is now."""
        run = self._crossed.get(line)
        partner = self._partner(run) if run else None
        was = self._open.get(line)
        if was:
            if was[0] is run and was[1] is partner:
                return
            self.found.append((*was, at))
            del self._open[line]
        if run and partner:
            self._open[line] = (run, partner, at)

    def _partner(self, run: Run) -> Run | None:
        line, _, _, side = run
        place = bisect_left(self._lines, line) + 1
        if place == len(self._lines):
            return None
        following = self._crossed[self._lines[place]]
        if following[3] == side:
            raise OverlapError
        return following if side == self._side and following[0] - line <= self._reach else None
