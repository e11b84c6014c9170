"""A run laid out on the tape: where its marks are and what may happen at each of them.

Marks are numbered from the origin. On a closed loop the numbers go on past it: mark
`count + 3` is mark 3 of the next time round. A loop whose length is not a multiple of the grid
is shorter by `seam_nm` than its marks make it, so that much is taken off at each origin passed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.calc.pieces.marks import between, ones
from service.calc.pieces.run import PieceRules, Run
from service.calc.pieces.zones import lap_at, lap_stretches, reach_from, span_stretches

if TYPE_CHECKING:
    from service.calc.pieces.gaps import Gap
    from service.calc.pieces.hops import Hop


class Track:
    """The marks of one run, with the plain and the return ends allowed at each.

    `plain[lap]` holds the marks where a piece may end with that lap; `returns[lap, length]`
    those of them with a rail in reach. On an open run neither holds its two ends. `span_nm` is the
    span where one holds everywhere. `nudge_nm` is how far the marks of an open run lie before
    multiples of the grid, so that a tape held at the far end can be described as well.
    `known_gaps` and `known_hops` keep what was worked out of them.
    """

    def __init__(self, run: Run, rules: PieceRules, nudge_nm: int = 0) -> None:
        self.run = run
        self.grid_nm = rules.grid_nm
        self.piece_nm = rules.piece_nm
        self.count = -(-run.length_nm // rules.grid_nm)
        self.seam_nm = self.count * rules.grid_nm - run.length_nm
        self.nudge_nm = nudge_nm
        self.laps = lap_stretches(run, rules.grid_nm)
        self.spans = span_stretches(run)
        self.span_nm = self._one_span()
        self.bound = any(zone.span_nm is not None for zone in run.zones)
        self.least_nm = self._least_nm(rules)
        self.plain = self._plain()
        self.returns = self._returns()
        self.known_gaps: dict[tuple[int, ...], list[Gap]] = {}
        self.known_hops: dict[tuple[int, int, int], list[Hop]] = {}

    def position(self, mark: int) -> int:
        """Return where a mark is, counting on past the origin [nm]."""
        return mark * self.grid_nm - self.shift(mark)

    def shift(self, mark: int) -> int:
        """Return what a mark's position lacks of its number times the grid [nm]."""
        return mark // self.count * self.seam_nm if self.run.closed else self.nudge_nm

    def first_mark(self, at_nm: int) -> int:
        """Return the first mark at or after a position."""
        if not self.run.closed:
            return -(-(at_nm + self.nudge_nm) // self.grid_nm)
        turns, here = divmod(at_nm, self.run.length_nm)
        return turns * self.count - (-here // self.grid_nm)

    def last_mark(self, at_nm: int) -> int:
        """Return the last mark at or before a position."""
        if not self.run.closed:
            return (at_nm + self.nudge_nm) // self.grid_nm
        turns, here = divmod(at_nm, self.run.length_nm)
        return turns * self.count + here // self.grid_nm

    def lap_at(self, at_nm: int) -> int:
        """Return the lap of a piece that ends at a position [nm]."""
        if self.run.closed:
            at_nm = (at_nm - 1) % self.run.length_nm + 1
        return lap_at(self.laps, at_nm)

    def reach_from(self, at_nm: int) -> int:
        """Return the furthest position of the fixing after one at `at_nm` [nm]."""
        if self.span_nm is not None:
            return at_nm + self.span_nm
        return reach_from(self.spans, self.run, at_nm)

    def end_return(self) -> int | None:
        """Return the length of a return at the far end of an open run, if one is in reach."""
        end = self.run.length_nm
        lengths = [
            reach.return_nm
            for reach in self.run.reaches
            if reach.start_nm <= end <= reach.end_nm and not self.run.closed
        ]
        return min(lengths, default=None)

    def holds(self, return_nm: int) -> bool:
        """Return whether a return leaves its piece enough to cover, so that it can be made."""
        return return_nm + self.least_nm <= self.piece_nm

    def longest_step(self) -> int:
        """Return more marks than any piece has from its beginning to its end."""
        return (self.piece_nm + 2 * self.seam_nm) // self.grid_nm + 2

    def part(self, marks: int, first: int, count: int) -> int:
        """Return `count` marks of a set from mark `first` on, which may be past the origin."""
        if not self.run.closed:
            return marks >> first & ones(count)
        found, taken = 0, 0
        while taken < count:
            here = (first + taken) % self.count
            size = min(count - taken, self.count - here)
            found |= (marks >> here & ones(size)) << taken
            taken += size
        return found

    def stretch(self, first_nm: int, last_nm: int) -> int:
        """Return the run's own marks from one position to another, both included."""
        low, high = (0 if self.run.closed else 1), self.count - 1
        if self.run.closed and 0 <= first_nm <= last_nm < self.run.length_nm:
            return between(-(-first_nm // self.grid_nm), last_nm // self.grid_nm)
        marks = 0
        for turn in (-1, 0, 1) if self.run.closed else (0,):
            first = self.first_mark(first_nm + turn * self.run.length_nm)
            last = self.last_mark(last_nm + turn * self.run.length_nm)
            marks |= between(max(first, low), min(last, high))
        return marks

    def _one_span(self) -> int | None:
        """Return the span that holds on all of the run, None where it changes."""
        spans = {stretch.span_nm for stretch in self.spans}
        return spans.pop() if len(spans) == 1 else None

    def _least_nm(self, rules: PieceRules) -> int:
        """Return the least cover of a piece: never within a lap, never more than the run."""
        longest_lap = max(stretch.lap_nm for stretch in self.laps)
        whole_nm = self.run.length_nm
        if self.run.closed:
            whole_nm += min(stretch.lap_nm for stretch in self.laps)
        return min(max(rules.least_piece_nm, longest_lap + 1), whole_nm)

    def _plain(self) -> dict[int, int]:
        found: dict[int, int] = {}
        for stretch in self.laps:
            marks = self.stretch(stretch.first_nm, stretch.last_nm)
            found[stretch.lap_nm] = found.get(stretch.lap_nm, 0) | marks
        for lap, marks in found.items():
            found[lap] = marks & ~self._kept_clear(lap)
        return found

    def _kept_clear(self, lap_nm: int) -> int:
        """Return the marks where a piece's lap would come too near to some point."""
        marks = 0
        for point in self.run.keep_off:
            first_nm = point.at_nm - point.distance_nm + 1
            marks |= self.stretch(first_nm, point.at_nm + point.distance_nm + lap_nm - 1)
        return marks

    def _returns(self) -> dict[tuple[int, int], int]:
        found: dict[tuple[int, int], int] = {}
        taken = 0
        for reach in sorted(self.run.reaches, key=lambda reach: reach.return_nm):
            within = self.stretch(reach.start_nm, reach.end_nm) & ~taken
            taken |= within
            for lap, marks in self.plain.items():
                if marks & within:
                    key = lap, reach.return_nm
                    found[key] = found.get(key, 0) | marks & within
        return found
