"""The layout that takes no more than any layout must, where there is one: found without a search.

In one zone with tabs, every layout of a closed loop that keeps the span rule has in each wide gap
at least the fewest returns that reach over it, which are found by going as far as the span lets
each time. Each takes at least the mesh of the shortest return of the gap. All pieces together
cover the loop, their laps and those returns, so that there are at least so many pieces: no cost
is below these pieces, their laps and those returns, and a layout at that cost is the best.

Such a layout has in each gap exactly the fewest returns. So the number of returns made since the
start tells all that matters of the fixings at a piece's end: whether the tab behind must still be
followed by a return, or the last return by another, or the next tab is near enough. What pieces
reach is then a plain set of marks for each number of pieces and of returns. Only where a plain
lap lies between two returns of a gap that are not both secure does the way matter. Those pieces
cover no more than a span, which wastes most of one; where so much is to spare, the search decides.

Of layouts at that cost the one is taken that the search would take. It looks at starts by the
cell and the kind of their far end, and of the steps onto an end it takes the one noted first:
from the lower cost, which is a step onto a return, then from the earlier cell, and there from the
furthest mark. Checked against the search in tests/unit/calc/pieces.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property, reduce
from itertools import accumulate, groupby
from operator import or_
from typing import NamedTuple

from service.calc.pieces.board import cell_bounds
from service.calc.pieces.cells import FIXED, SECURE, WAITING
from service.calc.pieces.gaps import Gap, once_round
from service.calc.pieces.limits import limits
from service.calc.pieces.marks import between, ones, spread
from service.calc.pieces.starts import Window, windows
from service.calc.pieces.trace import Best, End
from service.calc.pieces.track import Track
from service.quantity.whole import whole

Cost = tuple[int, int, int]


class _Starts(NamedTuple):
    """Marks at which a layout may start, the returns made before, and the origin ahead."""

    marks: list[int]
    made: int
    origin: int


class _Need(NamedTuple):
    """How many returns a wide gap takes at least, and the mesh of each [nm]."""

    count: int
    return_nm: int


class _Way(NamedTuple):
    """Marks where a piece may end, and how many marks on from the last end.

    `far_low` and `far_high` are how many where it passes the origin.
    """

    marks: int
    low: int
    high: int
    far_low: int
    far_high: int
    return_nm: int | None
    from_return: bool


class Tight(NamedTuple):
    """The best layout, where it costs no more than it must; and a cost that none is below."""

    best: Best | None
    floor: Cost


def tight_layout(track: Track) -> Tight | None:
    """Return the best layout of a closed loop with tabs if it costs no more than it must.

    None where that is not so simple: several zones, or different returns in one gap.
    """
    run = track.run
    zones = {(zone.lap_nm, zone.span_nm) for zone in run.zones}
    if not run.closed or not run.tabs_nm or not track.bound or len(zones) != 1:
        return None
    tabs = tuple(sorted({*run.tabs_nm}))
    needs = _needs(track, tabs)
    around = list(windows(track, tabs, loose=False))
    if needs is None or len(around) != 1:
        return None
    least = _Least(track, around[0], needs)
    if least.may_hop():
        return Tight(None, least.cost)
    for alike in least.starts():
        found = least.first_closed(alike)
        if found is not None:
            return Tight(found, least.cost)
    return Tight(None, least.next_cost())


def _needs(track: Track, tabs_nm: tuple[int, ...]) -> dict[int, _Need] | None:
    """Return what each wide gap takes, by its first mark past the reach of the tab before it."""
    found = {}
    for gap in once_round(track, tabs_nm):
        if gap.wide:
            need = _need(track, gap)
            if need is None:
                return None
            found[gap.within % track.count] = need
    return found


def _need(track: Track, gap: Gap) -> _Need | None:
    parts = [
        (length, part)
        for (_, length), marks in track.returns.items()
        if (part := track.part(marks, gap.first, gap.end - gap.first))
    ]
    if len(parts) != 1:
        return None
    [(length, returns)] = parts
    count, before, end = 1, -1, gap.within
    while True:
        at = gap.first + (returns & ones(end - gap.first)).bit_length() - 1
        if at >= gap.secure and at >= gap.first:
            return _Need(count, length)
        if at <= before or at < gap.first:
            return None
        count, before = count + 1, at
        end = track.last_mark(track.reach_from(track.position(at))) + 1


class _Least:
    """A window's layouts at the least cost.

    Sets are of marks counted from the window's first; a number of returns counts all that the
    gaps from there on take.
    """

    def __init__(self, track: Track, window: Window, needs: dict[int, _Need]) -> None:
        self.track, self.window = track, window
        self.lap_nm = track.laps[0].lap_nm
        self.needs = [
            needs[gap.within % track.count] if gap.wide else _Need(0, 0) for gap in window.gaps
        ]
        self.before = list(accumulate((need.count for need in self.needs), initial=0))
        each = (need.return_nm for need in self.needs for _ in range(need.count))
        self.mesh = list(accumulate(each, initial=0))
        self.returns = sum(need.count for need in needs.values())
        self.turned_nm = sum(need.count * need.return_nm for need in needs.values())
        covered = track.run.length_nm + self.turned_nm
        self.pieces = whole(covered, track.piece_nm - self.lap_nm)
        self.spare_nm = self.pieces * (track.piece_nm - self.lap_nm) - covered
        self.cost = 0, self.pieces, self.pieces * self.lap_nm + self.turned_nm
        self.first = window.gaps[0].first
        self._fill()

    def may_hop(self) -> bool:
        """Return whether there is mesh to spare for a plain lap between two returns."""
        span = self.track.spans[0].span_nm or 0
        for need in self.needs:
            straight = self.track.piece_nm - self.lap_nm - need.return_nm
            wasted = straight + self.track.piece_nm - self.lap_nm - span
            if need.count > 1 and span > straight and wasted <= self.spare_nm:
                return True
        return False

    def next_cost(self) -> Cost:
        """Return the least cost above the least: one return more, or else one piece."""
        _, pieces, mesh = self.cost
        more = min((need.return_nm for need in self.needs if need.count), default=None)
        if more is not None and more <= self.spare_nm:
            return 0, pieces, mesh + more
        return 0, pieces + 1, mesh + self.lap_nm

    def starts(self) -> Iterator[_Starts]:
        """Yield all starts in the order in which the search would find them closed.

        The first comes alone, since mostly it closes. Further ones come together where they lie in
        one gap, on one side of the origin, and fixings stand alike there.
        """
        found = self.window.starts
        if found[0][1] == SECURE:
            yield from self._together(found[:1])
            found = found[1:]
        if any(kind != SECURE for _, kind in found):
            cells, count = self.cells, self.track.count
            found = sorted(found, key=lambda at: (bisect_right(cells, at[0] + count), *at[::-1]))
        yield from self._together(found)

    def _together(self, starts: list[tuple[int, int]]) -> Iterator[_Starts]:
        """Yield starts, those together that are in one gap, before one origin, and alike."""
        for (gap, kind, turn), alike in groupby(starts, self._kind_of):
            need = self.needs[gap].count
            if kind == FIXED and need < 2:
                continue
            made = self.before[gap] + {SECURE: need, WAITING: 0, FIXED: 1}[kind]
            origin = (turn + 1) * self.track.count - self.first
            yield _Starts([mark - self.first for mark, _ in alike], made, origin)

    def first_closed(self, starts: _Starts) -> Best | None:
        """Return the layout from the first of some starts from which there is one.

        They are tried together, as if each might come back to the mark of any other. Where not
        even that comes back to one's own mark, that one has no layout.
        """
        count, made = self.track.count, starts.made + self.returns
        reached = self._reached(starts)
        ends = reached[-1].get(made, 0) if len(reached) > self.pieces else 0
        marks = [mark for mark in starts.marks if ends >> mark + count & 1]
        if not marks:
            return None
        if len(starts.marks) == 1:
            [start] = marks
            way = self._way_back(reached, start + count, made, starts.origin)
            return Best(cost=self.cost, start=start + self.first, ends=way, lacking_nm=())
        half = whole(len(marks), 2)
        return self.first_closed(starts._replace(marks=marks[:half])) or (
            self.first_closed(starts._replace(marks=marks[half:])) if marks[half:] else None
        )

    def _kind_of(self, start: tuple[int, int]) -> tuple[int, int, int]:
        mark, kind = start
        return bisect_right(self.gaps, mark) - 1, kind, mark // self.track.count

    def _fill(self) -> None:
        """Find, by the number of returns made the ends that may follow."""
        track, gaps = self.track, self.window.gaps
        self.gaps = [gap.first for gap in gaps]
        size = gaps[-1].end - self.first
        plain = track.part(track.plain[self.lap_nm], self.first, size)
        turned = {
            length: track.part(marks, self.first, size)
            for (_, length), marks in track.returns.items()
        }
        after = [0] * (self.before[-1] + 1)
        self.onto_return: dict[int, _Way] = {}
        for gap, need, before in zip(gaps, self.needs, self.before[:-1], strict=True):
            whole_gap = self._marks(gap.first, gap.end)
            after[before + need.count] |= whole_gap
            if not gap.wide:
                continue
            near = self._marks(gap.first, gap.within) & whole_gap
            after[before] |= near
            ends = turned[need.return_nm] & whole_gap
            for number in range(need.count):
                among = ends & near if number == 0 else ends
                if number == need.count - 1:
                    among &= self._marks(gap.secure, gap.end)
                self.onto_return[before + number] = self._way(among, need.return_nm, number > 0)
        self.onto_plain = [self._way(marks & plain, None, False) for marks in after]

    @cached_property
    def cells(self) -> list[int]:
        """Return the first marks of the search's cells."""
        return [first for gap in self.window.gaps for first, _ in cell_bounds(self.track, gap)]

    @cached_property
    def spans(self) -> list[int]:
        """Return the same with the first marks from which the search measures a span."""
        found = limits(self.track, self.first, self.window.gaps[-1].end)
        return sorted({*self.cells, *(limit.first for limit in found)})

    def _marks(self, first: int, end: int) -> int:
        return between(max(first - self.first, 0), end - self.first - 1)

    def _way(self, marks: int, return_nm: int | None, from_return: bool) -> _Way:
        track = self.track
        least = track.least_nm - self.lap_nm
        longest = track.piece_nm - self.lap_nm - (return_nm or 0)
        if from_return:
            longest = min(longest, track.spans[0].span_nm or 0)
        grid, seam = track.grid_nm, track.seam_nm
        return _Way(
            marks,
            whole(least, grid),
            longest // grid,
            whole(least + seam, grid),
            (longest + seam) // grid,
            return_nm,
            from_return,
        )

    def _reached(self, starts: _Starts) -> list[dict[int, int]]:
        """Return the ends that one piece after the other reaches, by the returns made.

        Ends from which the pieces that are left do not come round are left out, and there are
        no more rows once none is left.
        """
        rows = [{starts.made: reduce(or_, (1 << mark for mark in starts.marks))}]
        nearest = min(starts.marks) + self.track.count
        for left in reversed(range(self.pieces)):
            row: dict[int, int] = {}
            for number, ends in rows[-1].items():
                ways = [(number, self.onto_plain[number])]
                if number < starts.made + self.returns:
                    ways.append((number + 1, self.onto_return[number]))
                for made, way in ways:
                    found = self._onto(ends, way, starts.origin)
                    behind = nearest - self._cover(left, starts.made, made)
                    if behind > 0:
                        found = found >> behind << behind
                    if found:
                        row[made] = row.get(made, 0) | found
            if not row:
                break
            rows.append(row)
        return rows

    def _cover(self, pieces: int, before: int, made: int) -> int:
        """Return how many marks so many last pieces cover at most, with the returns not yet made."""
        track = self.track
        left_nm = self.turned_nm - self.mesh[made] + self.mesh[before]
        cover_nm = pieces * (track.piece_nm - self.lap_nm) - left_nm + track.seam_nm
        return cover_nm // track.grid_nm

    def _onto(self, ends: int, way: _Way, origin: int) -> int:
        """Return the ends that one piece more reaches."""
        if not way.marks:
            return 0
        if not self.track.seam_nm:
            return spread(ends, way.low, way.high) & way.marks
        before = ones(origin)
        here = ends & before
        found = spread(ends ^ here, way.low, way.high)
        found |= spread(here, way.low, way.high) & before
        found |= spread(here, way.far_low, way.far_high) & ~before
        return found & way.marks

    def _way_back(
        self, reached: list[dict[int, int]], mark: int, made: int, origin: int
    ) -> list[End]:
        """Return the ends of a layout, from its last one back, in the order of work."""
        ends: list[End] = []
        for row in reversed(reached[:-1]):
            way = self.onto_return.get(made - 1)
            sources = 0
            if way is not None and way.marks >> mark & 1:
                sources = self._sources(row.get(made - 1, 0), mark, way, origin)
            if sources:
                made -= 1
            else:
                way = self.onto_plain[made]
                sources = self._sources(row[made], mark, way, origin)
            assert way is not None
            ends.append(End(mark=mark + self.first, return_nm=way.return_nm))
            mark = self._taken(sources, self.spans if way.from_return else self.cells)
        return ends[::-1]

    def _sources(self, ends: int, mark: int, way: _Way, origin: int) -> int:
        """Return which ends lie one piece before a mark."""
        if not self.track.seam_nm or mark < origin:
            return ends & between(max(mark - way.high, 0), mark - way.low)
        before = ones(origin)
        near = between(max(mark - way.high, 0), mark - way.low)
        far = between(max(mark - way.far_high, 0), mark - way.far_low)
        return ends & (near & ~before | far & before)

    def _taken(self, marks: int, firsts: list[int]) -> int:
        """Return the last mark of a set that lies in one stretch with its first."""
        first = (marks & -marks).bit_length() - 1 + self.first
        following = bisect_right(firsts, first)
        if following < len(firsts):
            marks &= ones(firsts[following] - self.first)
        return marks.bit_length() - 1
