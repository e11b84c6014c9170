"""Where pieces may end in a window of a loop with one lap and one span, as plain sets of marks.

Sets are of marks counted from the window's first. A stage is how many wide gaps lie behind the
last fixing that is near enough to the tab after it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import NamedTuple

from service.calc.pieces.board import cell_bounds
from service.calc.pieces.gaps import Gap
from service.calc.pieces.hops import known_hops
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
    """A way from one stage to another, and whether its ends are returns.

    `came_pending` says that it begins at a return that must be followed by another in its gap,
    `pending` that it leads to one.
    """

    came: int
    came_pending: bool
    stage: int
    pending: bool
    returns: bool
    way: Way


class Over(NamedTuple):
    """A way from returns in `joined`, over a plain lap, to returns so many marks on.

    No one piece goes so far. It leads to a stage, and to returns that are pending or not.
    """

    joined: int
    apart: int
    stage: int
    pending: bool
    return_nm: int


class Ways:
    """All ways of one window over its `gaps`.

    `onward[stage, pending]` has the ways on from there: plain ones, then those onto returns.
    `back[stage, pending]` has the ways that lead there: onto returns first, and of those the ones
    from nothing pending.
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
        turns: list[Onward] = []
        for gap in gaps:
            everywhere = self._marks(gap.first, gap.end)
            if gap.wide:
                stage, need = len(passed) - 1, needs[gap.within % track.count]
                ends = turned[need.return_nm] & everywhere
                near = everywhere & self._marks(gap.first, gap.within)
                turns += self._turns(gap, ends & near, stage, False, need.return_nm)
                turns += self._turns(gap, ends, stage, True, need.return_nm)
                passed[-1] |= near
                passed.append(0)
            passed[-1] |= everywhere
        plain = track.part(track.plain[self.lap_nm], self.first, size)
        laps = [
            Onward(stage, False, stage, False, False, self._way(marks & plain, None, None))
            for stage, marks in enumerate(passed)
        ]
        stages = [(stage, pending) for stage in range(len(passed)) for pending in (False, True)]
        self.onward: dict[tuple[int, bool], list[Onward]] = {at: [] for at in stages}
        self.back: dict[tuple[int, bool], list[Onward]] = {at: [] for at in stages}
        for step in (*laps, *turns):
            self.onward[step.came, step.came_pending].append(step)
        for step in (*turns, *laps):
            self.back[step.stage, step.pending].append(step)

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
        track, length = self.track, self.track.run.length_nm
        turns = range(self.first // track.count, (self.gaps[-1].end - 1) // track.count + 1)
        firsts = [turn * length + span.first_nm for turn in turns for span in track.spans]
        return sorted({*self.cell_bounds, *map(track.first_mark, firsts)})

    @cached_property
    def hops(self) -> list[list[Over]]:
        """Return, for each stage, the ways from a pending return over one plain lap."""
        wide = [gap for gap in self.gaps if gap.wide]
        return [list(self._over(stage, gap)) for stage, gap in enumerate(wide)] + [[]]

    def _over(self, stage: int, gap: Gap) -> Iterator[Over]:
        secure = self._marks(gap.secure, gap.end)
        for hop in known_hops(self.track, gap):
            joined, apart = hop.joined << gap.first - self.first, hop.low
            onto_secure = joined & secure >> apart
            if hop.laps == 1:
                yield Over(onto_secure, apart, stage + 1, False, hop.return_nm)
                yield Over(joined ^ onto_secure, apart, stage, True, hop.return_nm)

    def _turns(
        self, gap: Gap, ends: int, stage: int, came_pending: bool, return_nm: int
    ) -> list[Onward]:
        """Return the ways onto some returns of a gap: onto those that are secure, and others."""
        secure = ends & self._marks(gap.secure, gap.end)
        within_nm = self.track.span_nm if came_pending else None
        return [
            Onward(stage, came_pending, onto, pending, True, self._way(marks, return_nm, within_nm))
            for onto, pending, marks in ((stage + 1, False, secure), (stage, True, ends ^ secure))
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
