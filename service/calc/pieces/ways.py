"""Where pieces may end in a window of a loop with one lap and one span, as plain sets of marks.

Sets are of marks counted from the window's first. A stage is how many wide gaps lie behind the
last fixing that is near enough to the tab after it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from functools import cached_property
from typing import NamedTuple

from service.calc.pieces.board import cell_bounds
from service.calc.pieces.gaps import Gap
from service.calc.pieces.limits import limits
from service.calc.pieces.marks import between, ones, spread
from service.calc.pieces.needs import Need
from service.calc.pieces.track import Track


class Way(NamedTuple):
    """Marks where a piece may end, and how many marks on from the end before it.

    `far_low` and `far_high` are how many where it passes the origin.
    """

    marks: int
    low: int
    high: int
    far_low: int
    far_high: int
    return_nm: int | None


class Onward(NamedTuple):
    """A way, and what it adds to the stage and to the returns made.

    `pending` says that it leads to a return that must be followed by another in its gap.
    """

    stages: int
    returns: int
    pending: bool
    way: Way


class Ways:
    """All ways of one window over its `gaps`.

    `onward[stage]` has the ways on from an end with nothing pending, `from_pending[stage]` those
    from a return that must be followed by another.
    """

    def __init__(self, track: Track, gaps: list[Gap], needs: Mapping[int, Need]) -> None:
        self.track, self.gaps = track, gaps
        self.first = gaps[0].first
        self.lap_nm = track.laps[0].lap_nm
        size = gaps[-1].end - self.first
        turned: dict[int, int] = {}
        for (_, length), marks in track.returns.items():
            turned[length] = track.part(marks, self.first, size)
        passed = [0]
        self.onward: list[list[Onward]] = [[]]
        self.from_pending: list[list[Onward]] = []
        for gap in gaps:
            everywhere = self._marks(gap.first, gap.end)
            if gap.wide:
                need = needs[gap.within % track.count]
                ends = turned[need.return_nm] & everywhere
                near = everywhere & self._marks(gap.first, gap.within)
                self.onward[-1] += self._turns(gap, ends & near, need.return_nm, None)
                self.from_pending.append(self._turns(gap, ends, need.return_nm, self.track.span_nm))
                passed[-1] |= near
                passed.append(0)
                self.onward.append([])
            passed[-1] |= everywhere
        plain = track.part(track.plain[self.lap_nm], self.first, size)
        for onward, marks in zip(self.onward, passed, strict=True):
            onward.insert(0, Onward(0, 0, False, self._way(marks & plain, None, None)))
        self.from_pending.append([])

    def stage_of(self, gap: int) -> int:
        """Return how many wide gaps lie before the gap of a number."""
        return sum(before.wide for before in self.gaps[:gap])

    def onto(self, ends: int, way: Way, origin: int) -> int:
        """Return the ends that one piece more reaches from some ends."""
        if not self.track.seam_nm:
            return spread(ends, way.low, way.high) & way.marks
        before = ones(origin)
        here = ends & before
        found = spread(ends ^ here, way.low, way.high)
        found |= spread(here, way.low, way.high) & before
        found |= spread(here, way.far_low, way.far_high) & ~before
        return found & way.marks

    def sources(self, ends: int, mark: int, way: Way, origin: int) -> int:
        """Return which ends lie one piece before a mark; none if the way does not lead to it."""
        if not way.marks >> mark & 1:
            return 0
        near = between(max(mark - way.high, 0), mark - way.low)
        if not self.track.seam_nm or mark < origin:
            return ends & near
        before = ones(origin)
        far = between(max(mark - way.far_high, 0), mark - way.far_low)
        return ends & (near & ~before | far & before)

    def first_part(self, marks: int, *, spans: bool = False) -> int:
        """Return the marks of a set that lie in one cell with its first.

        With `spans`, in the part of the cell from which the search measures spans at once.
        """
        first = (marks & -marks).bit_length() - 1 + self.first
        bounds = self._span_bounds if spans else self.cell_bounds
        following = bisect_right(bounds, first)
        if following == len(bounds):
            return marks
        return marks & ones(bounds[following] - self.first)

    @cached_property
    def cell_bounds(self) -> list[int]:
        """Return where the cells of the search begin."""
        return [first for gap in self.gaps for first, _ in cell_bounds(self.track, gap)]

    @cached_property
    def _span_bounds(self) -> list[int]:
        found = limits(self.track, self.first, self.gaps[-1].end)
        return sorted({*self.cell_bounds, *(limit.first for limit in found)})

    def _turns(self, gap: Gap, ends: int, return_nm: int, within_nm: int | None) -> list[Onward]:
        """Return the ways onto some returns of a gap: onto those that are secure, and others."""
        secure = ends & self._marks(gap.secure, gap.end)
        return [
            Onward(stages, 1, pending, self._way(marks, return_nm, within_nm))
            for stages, pending, marks in ((1, False, secure), (0, True, ends ^ secure))
            if marks
        ]

    def _marks(self, first: int, end: int) -> int:
        return between(max(first - self.first, 0), end - self.first - 1)

    def _way(self, marks: int, return_nm: int | None, within_nm: int | None) -> Way:
        track = self.track
        least = track.least_nm - self.lap_nm
        longest = track.piece_nm - self.lap_nm - (return_nm or 0)
        if within_nm is not None:
            longest = min(longest, within_nm)
        grid, seam = track.grid_nm, track.seam_nm
        return Way(
            marks,
            -(-least // grid),
            longest // grid,
            -(-(least + seam) // grid),
            (longest + seam) // grid,
            return_nm,
        )
