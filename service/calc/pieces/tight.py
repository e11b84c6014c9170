"""The best layout of a plain loop, found and proven without a search where it costs little.

In one zone with tabs, every layout of a closed loop that keeps the span rule has in each wide gap
at least the fewest returns that reach over it. All pieces together cover the loop, their laps and
the returns, so there are at least so many pieces: no cost is below these pieces, their laps and
those returns. If all returns take the same mesh, the next higher costs are those with one return
more and another, as long as so many pieces can cover them; then those with a piece more, beginning
with the fewest returns again. So the first of these costs at which there is a layout is that of
the best.

What pieces reach at one such cost is a plain set of marks for each state (`rows`). Only from a
return that is not secure over plain laps to the next would the way matter as well. Over one lap
the two pieces cover no more than a span, and which pairs of returns they join is known. Over two
or more, so much mesh is wasted that it is mostly not to spare: where it is, the search decides.

Of layouts at that cost the one is taken that the search would take. It looks at starts by the
cell and the kind of their far end. Of the steps onto an end it takes the one noted first: from
the lowest cost, so rather one over a plain lap, then one that makes a return; then from the first
cell, from the lowest kind, from the first span, and there from the furthest mark.
Checked against the search and against other models in tests/unit/calc/pieces, tests/outside.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import accumulate, groupby
from typing import NamedTuple

from service.calc.pieces.cells import FIXED, SECURE
from service.calc.pieces.needs import Need, needs_of
from service.calc.pieces.rows import Level, Room, Starts
from service.calc.pieces.starts import Window, windows
from service.calc.pieces.trace import Best, Cost
from service.calc.pieces.track import Track
from service.calc.pieces.ways import Ways
from service.quantity.whole import whole

_ONE_MORE_UP_TO = 40
"""Pieces of a loop for which one more is tried as well; of longer ones so much is reached that the
search is quicker."""


class Tight(NamedTuple):
    """The best layout, where it was found; and a cost that none is below."""

    best: Best | None
    floor: Cost


def tight_layout(track: Track, below: Cost | None = None) -> Tight | None:
    """Return the best layout of a closed loop with tabs, if it costs about the least.

    With `below`, only one that costs less is looked for. None where that cannot be told: several
    zones, different returns in one gap, or places where no return can be made.
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
        takes = (needs[gap.within % track.count].returns for gap in window.gaps if gap.wide)
        taken_before = [*accumulate(takes, initial=0)]
        self.shortest_nm = min((need.return_nm for need in needs.values()), default=0)
        self.returns = sum(need.returns for need in needs.values())
        self.turned_nm = sum(need.returns * need.return_nm for need in needs.values())
        self.reach_nm = track.piece_nm - self.ways.lap_nm
        self.covered_nm = track.run.length_nm + self.turned_nm
        self.fewest = whole(self.covered_nm, self.reach_nm)
        self.room = Room(self.ways, len(needs), taken_before, self.shortest_nm, self.reach_nm)

    def lowest(self, below: Cost | None) -> Tight:
        """Return the layout of the lowest cost at which there is one, as far as can be told."""
        alike = all(need.return_nm == self.shortest_nm for need in self.needs.values())
        most = self.fewest + (self.fewest <= _ONE_MORE_UP_TO)
        for pieces in range(self.fewest, most + 1):
            spare_nm = pieces * self.reach_nm - self.covered_nm
            for extra in range(spare_nm // self.shortest_nm + 1 if self.needs else 1):
                cost = self.cost(pieces, extra)
                beyond = below is not None and cost >= below
                left_nm = spare_nm - extra * self.shortest_nm
                if beyond or (extra and not alike) or self._may_hop(2, extra, left_nm):
                    return Tight(None, cost)
                hops = self._may_hop(1, extra, left_nm)
                level = Level(self.room, cost, self.returns + extra, hops=hops)
                for starts in self._starts():
                    found = level.first_closed(starts)
                    if found is not None:
                        return Tight(found, cost)
        return Tight(None, self.cost(most + 1, 0))

    def cost(self, pieces: int, extra: int) -> Cost:
        """Return what so many pieces cost with so many more returns than needed."""
        mesh = pieces * self.ways.lap_nm + self.turned_nm + extra * self.shortest_nm
        return 0, pieces, mesh

    def _may_hop(self, laps: int, extra: int, spare_nm: int) -> bool:
        """Return whether so much to spare does for plain laps between two returns."""
        span = self.track.span_nm or 0
        return any(
            span > self.reach_nm - need.return_nm
            and (laps + 1) * self.reach_nm - need.return_nm - span <= spare_nm
            for need in self.needs.values()
            if need.returns > 1 or extra
        )

    def _starts(self) -> Iterator[Starts]:
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

    def _together(self, starts: list[tuple[int, int]]) -> Iterator[Starts]:
        """Yield starts, those together that are in one gap, before one origin, and alike."""
        firsts, count = [gap.first for gap in self.window.gaps], self.track.count

        def kind_of(start: tuple[int, int]) -> tuple[int, int, int]:
            return bisect_right(firsts, start[0]) - 1, start[1], start[0] // count

        for (gap, kind, turn), alike in groupby(starts, kind_of):
            stage = self.ways.stage_of(gap + (kind == SECURE))
            marks = [mark - firsts[0] for mark, _ in alike]
            yield Starts(marks, (stage, 0, kind == FIXED), (turn + 1) * count - firsts[0])
