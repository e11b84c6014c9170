"""The best layout where little mesh is to spare: found and proven without a search.

In one zone with tabs, every layout of a closed loop that keeps the span rule has in each wide gap
at least the fewest returns that reach over it. All pieces together cover the loop, their laps and
the returns, so there are at least so many pieces: no cost is below these pieces, their laps and
those returns. If all returns take the same mesh, the next higher costs are those with one return
more and another, as long as so many pieces can cover them; then those with a piece more. So the
first of these costs at which there is a layout is that of the best.

At one such cost a piece's end is told by its mark, by the returns made so far, by the wide gaps
that are done with, and by whether the last return is still to be followed by another. What pieces
reach is then a plain set of marks for each of these. Only where a plain lap lies between two
returns of a gap, the first of which is not secure, would the way matter. Those two pieces cover
no more than a span, which wastes most of one: where so much is to spare, the search decides.

Of layouts at that cost the one is taken that the search would take. It looks at starts by the
cell and the kind of their far end. Of the steps onto an end it takes the one noted first: from
the lowest cost, so rather one that makes a return; then from the first cell, from the lowest
kind, from the first span, and there from the furthest mark.
Checked against the search and against other models in tests/unit/calc/pieces, tests/outside.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from functools import reduce
from itertools import accumulate, groupby
from operator import or_
from typing import NamedTuple

from service.calc.pieces.cells import FIXED, SECURE
from service.calc.pieces.needs import Need, needs_of
from service.calc.pieces.starts import Window, windows
from service.calc.pieces.trace import Best, End
from service.calc.pieces.track import Track
from service.calc.pieces.ways import Way, Ways
from service.quantity.whole import whole

_MOST_MORE = 1
"""How many pieces more than the fewest are tried."""

Cost = tuple[int, int, int]
State = tuple[int, int, bool]
"""Wide gaps done with, returns made, and whether the last of them must be followed by another."""
Rows = list[dict[State, int]]


class Tight(NamedTuple):
    """The best layout, where it was found; and a cost that none is below."""

    best: Best | None
    floor: Cost


class _Starts(NamedTuple):
    """Marks at which a layout may start, in what state, and the origin ahead."""

    marks: list[int]
    state: State
    origin: int


def tight_layout(track: Track, below: Cost | None = None) -> Tight | None:
    """Return the best layout of a closed loop with tabs if there is little mesh to spare.

    With `below`, only one that costs less is looked for. None where that cannot be told: several
    zones, or different returns in one gap.
    """
    run = track.run
    zones = {(zone.lap_nm, zone.span_nm) for zone in run.zones}
    if not run.closed or not run.tabs_nm or not track.bound or len(zones) != 1:
        return None
    tabs = tuple(sorted({*run.tabs_nm}))
    needs = needs_of(track, tabs)
    around = list(windows(track, tabs, loose=False))
    if needs is None or len(around) != 1:
        return None
    return _Levels(track, around[0], needs).lowest(below)


class _Levels:
    """The costs of a window's layouts, from the least up."""

    def __init__(self, track: Track, window: Window, needs: dict[int, Need]) -> None:
        self.track, self.window, self.needs = track, window, needs
        self.ways = Ways(track, window.gaps, needs)
        self.wide = len(needs)
        takes = (needs[gap.within % track.count].returns for gap in window.gaps if gap.wide)
        self.taken_before = [*accumulate(takes, initial=0)]
        self.shortest_nm = min((need.return_nm for need in needs.values()), default=0)
        self.returns = sum(need.returns for need in needs.values())
        self.turned_nm = sum(need.returns * need.return_nm for need in needs.values())
        self.reach_nm = track.piece_nm - self.ways.lap_nm
        self.covered_nm = track.run.length_nm + self.turned_nm
        self.fewest = whole(self.covered_nm, self.reach_nm)

    def lowest(self, below: Cost | None) -> Tight:
        """Return the layout of the lowest cost at which there is one, as far as can be told."""
        alike = all(need.return_nm == self.shortest_nm for need in self.needs.values())
        for pieces in range(self.fewest, self.fewest + _MOST_MORE + 1):
            spare_nm = pieces * self.reach_nm - self.covered_nm
            for extra in range(spare_nm // self.shortest_nm + 1 if self.needs else 1):
                cost = self.cost(pieces, extra)
                beyond = below is not None and cost >= below
                left_nm = spare_nm - extra * self.shortest_nm
                if beyond or (extra and not alike) or self._may_hop(extra, left_nm):
                    return Tight(None, cost)
                level = _Level(self, pieces, extra)
                for starts in self._starts():
                    found = level.first_closed(starts)
                    if found is not None:
                        return Tight(found, cost)
        return Tight(None, self.cost(self.fewest + _MOST_MORE + 1, 0))

    def cost(self, pieces: int, extra: int) -> Cost:
        """Return what so many pieces cost with so many more returns than needed."""
        mesh = pieces * self.ways.lap_nm + self.turned_nm + extra * self.shortest_nm
        return 0, pieces, mesh

    def _may_hop(self, extra: int, spare_nm: int) -> bool:
        """Return whether so much to spare does for a plain lap between two returns."""
        span = self.track.span_nm or 0
        return any(
            span > self.reach_nm - need.return_nm
            and 2 * self.reach_nm - need.return_nm - span <= spare_nm
            for need in self.needs.values()
            if need.returns > 1 or extra
        )

    def _starts(self) -> Iterator[_Starts]:
        """Yield all starts in the order in which the search would find them closed.

        The first comes alone, since mostly it closes.
        """
        found = self.window.starts
        if found[0][1] == SECURE:
            yield from self._together(found[:1])
            found = found[1:]
        if any(kind != SECURE for _, kind in found):
            cells, count = self.ways.cell_bounds, self.track.count
            found = sorted(found, key=lambda at: (bisect_right(cells, at[0] + count), *at[::-1]))
        yield from self._together(found)

    def _together(self, starts: list[tuple[int, int]]) -> Iterator[_Starts]:
        """Yield starts, those together that are in one gap, before one origin, and alike."""
        firsts, count = [gap.first for gap in self.window.gaps], self.track.count

        def kind_of(start: tuple[int, int]) -> tuple[int, int, int]:
            return bisect_right(firsts, start[0]) - 1, start[1], start[0] // count

        for (gap, kind, turn), alike in groupby(starts, kind_of):
            stage = self.ways.stage_of(gap + (kind == SECURE))
            marks = [mark - firsts[0] for mark, _ in alike]
            yield _Starts(marks, (stage, 0, kind == FIXED), (turn + 1) * count - firsts[0])


class _Level:
    """The layouts of one cost: with so many pieces, and `extra` returns more than needed."""

    def __init__(self, levels: _Levels, pieces: int, extra: int) -> None:
        self.levels, self.ways, self.count = levels, levels.ways, levels.track.count
        self.pieces, self.returns = pieces, levels.returns + extra
        self.cost = levels.cost(pieces, extra)

    def first_closed(self, starts: _Starts) -> Best | None:
        """Return the layout from the first of some starts from which there is one.

        They are tried together, as if each might come back to the mark of any other. Where not
        even that comes back to one's own mark, that one has no layout.
        """
        end = self._end(starts.state)
        rows = self._rows(starts, end)
        ends = rows[-1].get(end, 0) if len(rows) > self.pieces else 0
        marks = [mark for mark in starts.marks if ends >> mark + self.count & 1]
        if not marks:
            return None
        if len(starts.marks) == 1:
            way = self._way_back(rows, marks[0] + self.count, end, starts.origin)
            start = marks[0] + self.ways.first
            return Best(cost=self.cost, start=start, ends=way, lacking_nm=())
        half = whole(len(marks), 2)
        found = self.first_closed(starts._replace(marks=marks[:half]))
        if found is None and marks[half:]:
            found = self.first_closed(starts._replace(marks=marks[half:]))
        return found

    def _end(self, start: State) -> State:
        """Return the state in which a layout comes back to its start."""
        stage, _, pending = start
        return stage + self.levels.wide, self.returns, pending

    def _rows(self, starts: _Starts, end: State) -> Rows:
        """Return the ends that one piece after the other reaches, by their state.

        Ends from which what is left does not suffice are left out: the returns for the gaps, or
        the pieces for the way. There are no more rows once none is left.
        """
        rows = [{starts.state: reduce(or_, (1 << mark for mark in starts.marks))}]
        nearest = min(starts.marks) + self.count
        most = self._most_made(end)
        for left in reversed(range(self.pieces)):
            row: dict[State, int] = {}
            for (stage, made, pending), ends in rows[-1].items():
                for step in self.ways.onward[stage, pending]:
                    following = step.stage, made + step.returns, step.pending
                    if following[1] > most[step.stage, step.pending]:
                        continue
                    found = self.ways.onto(ends, step.way, starts.origin)
                    behind = nearest - self._cover(left, following[1])
                    if behind > 0:
                        found = found >> behind << behind
                    if found:
                        row[following] = row.get(following, 0) | found
            if not row:
                break
            rows.append(row)
        return rows

    def _most_made(self, end: State) -> dict[tuple[int, bool], int]:
        """Return how many returns may have been made, by stage and whether one is pending.

        What is left must do for the gaps up to the end; past it none are left.
        """
        last, _, pending_end = end
        before = self.levels.taken_before
        most = {(stage, pending): -1 for stage in range(len(before)) for pending in (False, True)}
        for stage in range(last + 1):
            least_left = before[last] - before[stage] + pending_end
            most[stage, False] = self.returns - least_left
            if stage < last:
                least_left = before[last] - before[stage + 1] + 1 + pending_end
                most[stage, True] = self.returns - least_left
        most[last, pending_end] = self.returns
        return most

    def _cover(self, pieces: int, made: int) -> int:
        """Return how many marks the last pieces cover at most, with the returns still to make."""
        levels, track = self.levels, self.levels.track
        turned_nm = (self.returns - made) * levels.shortest_nm
        return (pieces * levels.reach_nm - turned_nm + track.seam_nm) // track.grid_nm

    def _way_back(self, rows: Rows, mark: int, state: State, origin: int) -> list[End]:
        """Return the ends of a layout from its last one back, in the order of work."""
        ends: list[End] = []
        for row in reversed(rows[:-1]):
            came, way, sources = self._before(row, mark, state, origin)
            ends.append(End(mark=mark + self.ways.first, return_nm=way.return_nm))
            mark, state = sources.bit_length() - 1, came
        return ends[::-1]

    def _before(
        self, row: dict[State, int], mark: int, state: State, origin: int
    ) -> tuple[State, Way, int]:
        """Return the step onto an end that the search would take: from where, and the ends."""
        stage, made, pending = state
        found: list[tuple[State, Way, int]] = []
        for step in self.ways.back[stage, pending]:
            if found and not step.returns:
                break
            came = step.came, made - step.returns, step.came_pending
            sources = self.ways.sources(row.get(came, 0), mark, step.way, origin)
            if sources:
                found.append((came, step.way, sources))
        came, way, sources = found[0]
        if len(found) > 1:
            cell = self.ways.first_part(sources | found[1][2])
            came, way, sources = next(step for step in found if step[2] & cell)
        return came, way, self.ways.first_part(sources, spans=came[2])
