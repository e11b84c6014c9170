"""A run measured from one start: what may happen at each place where a piece can end.

Places are numbered from the start in cut increments; lengths count from the start as well.
"""

from __future__ import annotations

from math import gcd
from typing import Literal

import msgspec
import numpy as np
import numpy.typing as npt

from service.calc.pieces.run import PieceRules, Run
from service.calc.pieces.zones import Ints, ZoneMap, longest_lap_nm, rounded_up

NEVER = 1 << 60
"""A cost above all others."""
_MOST_COST = 1 << 58
_MOST_CHAINED = 2_500
"""Places up to which several pieces in a row may go without a fixing between two returns. That
takes most of the work and hardly ever pays: on longer runs one piece goes from one to the next."""

Seam = Literal["tab", "start", "end", "open"]
"""How the start of a run is fixed. `tab`: by the tab just after the seam of a closed run.
`start`, `end`: by a return at the start of the first piece or the end of the last, at the seam.
`open`: not at all, as the two ends of an open run."""


class Start(msgspec.Struct, frozen=True, kw_only=True):
    """Where the first piece begins [nm], the overlap of the last piece over it, and its fixing."""

    at_nm: int
    lap_nm: int
    seam: Seam


class Course:
    """What the search needs to know of a run from one start, in arrays over all places.

    Costs are counted in `unit_nm` of mesh; a nanometre without support costs `late`, more than
    all mesh together, so that one whole number puts support first.
    """

    def __init__(self, run: Run, rules: PieceRules, start: Start, *, relaxed: bool = False) -> None:
        self.run, self.rules, self.start = run, rules, start
        self.grid, self.whole_nm = rules.grid_nm, rules.piece_nm
        self.end_nm = run.length_nm + start.lap_nm
        self.count = -(-self.end_nm // self.grid)
        self.at = np.arange(self.count + 1, dtype=np.int64) * self.grid
        self.at[-1] = self.end_nm
        self.zones = ZoneMap(run, start.at_nm)
        self.longest = max(longest_lap_nm(run, rules), rules.most_lap_nm) // self.grid
        least = max(rounded_up(rules.least_piece_nm, self.grid) // self.grid, self.longest + 1)
        self.least = min(least, self.count)
        self.steps = self.whole_nm // self.grid
        self.relaxed = relaxed
        self.chains = self.count <= _MOST_CHAINED
        self.limited = not relaxed and any(zone.span_nm is not None for zone in run.zones)
        self.returns = self._returns()
        self.return_meshes: list[int] = np.unique(self.returns[self.returns >= 0]).tolist()
        self._scale()
        self.joints = self._joints()
        self.overlaps: list[int] = (np.flatnonzero((self.joints < NEVER).any(axis=0)) + 1).tolist()
        self._tabs()
        self._support()

    def mesh(self, length_nm: int) -> int:
        """Return what mesh costs."""
        return length_nm // self.unit_nm

    def charge(self, beyond: Ints) -> Ints:
        """Return what it costs that a fixing is so much beyond the reach of the last one."""
        return np.maximum(beyond, 0) * self.late

    def _returns(self) -> Ints:
        """Return the mesh of the shortest return at each place, -1 where none can be made [nm]."""
        found = np.full(self.count + 1, -1, np.int64)
        if not self.limited:
            return found
        for reach in sorted(self.run.reaches, key=lambda reach: -reach.return_nm):
            if reach.return_nm + self.least * self.grid > self.whole_nm:
                continue
            for turn in range(-2, 3) if self.run.closed else (0,):
                moved = turn * self.run.length_nm - self.start.at_nm
                first = np.searchsorted(self.at, reach.start_nm + moved, "left")
                last = np.searchsorted(self.at, reach.end_nm + moved, "right")
                found[first:last] = reach.return_nm
        # within the seam overlap a return would be under three layers of mesh
        found[(self.at > 0) & (self.at < self.start.lap_nm)] = -1
        return found

    def _scale(self) -> None:
        """Choose the unit of mesh, and a cost for lack of support that outweighs all mesh."""
        rules = self.rules
        lengths = [rules.cut_weight_nm, rules.return_weight_nm, self.end_nm]
        self.unit_nm = gcd(self.grid, *lengths, *(r.return_nm for r in self.run.reaches))
        most = self.count // max(self.least - self.longest, 1) + 2
        dearest = self.whole_nm + rules.cut_weight_nm + 2 * rules.return_weight_nm
        # the bound keeps costs within 64 bits: it only bites on runs of miles in odd lengths
        self.late = min(most * self.mesh(dearest) + 1, _MOST_COST // (2 * self.end_nm))
        self.cut_cost = self.mesh(rules.cut_weight_nm)
        self.return_cost = self.mesh(rules.return_weight_nm)

    def _joints(self) -> Ints:
        """Return the cost of overlaps: a row for each place where one begins, by its increments.

        An overlap costs nothing or cannot be. Where the keep-off points are relaxed, it costs
        what it lacks of the distances instead.
        """
        overlaps = np.arange(1, self.longest + 1) * self.grid
        begin = np.broadcast_to(self.at[:, None], (self.count + 1, self.longest))
        end = begin + overlaps
        need = self.zones.lap(begin, end, self.grid)
        allowed = (need <= overlaps) & (overlaps <= np.maximum(self.rules.most_lap_nm, need))
        allowed &= end < self.at[-1]
        allowed[0] = False
        if self.relaxed:
            return np.where(allowed, self.lacking(begin, end) * self.late, NEVER)
        return np.where(allowed & (end <= self._clear_until()[:, None]), 0, NEVER)

    def _clear_until(self) -> Ints:
        """Return where an overlap from each place must end to keep off all points [nm]."""
        points = np.array(self._points(), np.int64).reshape(-1, 2)
        before, after = points[:, 0] - points[:, 1], points[:, 0] + points[:, 1]
        order = np.argsort(after)
        nearest = np.minimum.accumulate(before[order][::-1])[::-1]
        return np.append(nearest, NEVER)[np.searchsorted(after[order], self.at, "right")]

    def _points(self) -> list[tuple[int, int]]:
        """Return the keep-off points with their distances, on a closed run as often as met [nm]."""
        turns = (-1, 0, 1, 2) if self.run.closed else (0,)
        return [
            (point.at_nm + turn * self.run.length_nm - self.start.at_nm, point.distance_nm)
            for point in self.run.keep_off
            for turn in turns
        ]

    def lacking(self, start_nm: Ints, end_nm: Ints) -> Ints:
        """Return the most that overlaps lack of the distance to any one point [nm]."""
        found = np.zeros(end_nm.shape, np.int64)
        for at, distance in self._points():
            found = np.maximum(found, np.minimum(end_nm - at, at - start_nm) + distance)
        return found

    def _tabs(self) -> None:
        """Note the tabs from the start on, and at last the place that closes the run."""
        run, length = self.run, self.run.length_nm
        tabs = [] if self.relaxed else list(run.tabs_nm)
        if run.closed:
            tabs = [(tab - self.start.at_nm - 1) % length + 1 for tab in tabs]
        self.fixed = bool(tabs) or self.start.seam in ("start", "end")
        closing = {"tab": min(tabs, default=0) + length, "start": length}
        tabs = [*sorted(set(tabs)), closing.get(self.start.seam, self.end_nm)]
        self.tabs = np.array(tabs, np.int64)
        self.passed: Ints = np.searchsorted(self.tabs, self.at, "right").astype(np.int64)
        if not run.closed:
            self.passed[-1] = len(tabs)
        self.group_start: Ints = np.searchsorted(self.passed, self.passed, "left").astype(np.int64)
        self.group_end: Ints = np.searchsorted(self.passed, self.passed, "right").astype(np.int64)

    def _support(self) -> None:
        """Note how far the fixings reach, in lengths that can be supported at all.

        Where not even all possible fixings together would support the run, nothing is lost by
        any layout: such lengths are left out of all distances.
        """
        start = self.end_nm - self.run.length_nm if self.start.seam == "end" else 0
        possible = self.at[self._possible()]
        real = self.tabs if self.start.seam == "tab" else self.tabs[:-1]
        fixings = np.concatenate((possible, real))
        if self.limited and (len(fixings) or self.fixed) and self.start.seam != "tab":
            fixings = np.append(fixings, start)
        if not self.limited:
            fixings = np.empty(0, np.int64)
        covered = _Covered(np.sort(fixings), self.zones)
        self.place = covered.upto(self.at)
        self.reach = covered.upto(self.zones.reach(self.at))
        self.tab_place = np.append(covered.upto(self.tabs), -NEVER // 2)
        first = covered.upto(self.zones.reach(np.array([start], np.int64)))
        self.tab_reach = np.append(first, covered.upto(self.zones.reach(self.tabs)))
        gaps = self.charge(self.tab_place[1:-1] - self.tab_reach[1:-1])
        self.tab_gaps = np.concatenate(([0, 0], np.cumsum(gaps), [0]))
        self.tab_gaps[-1] = self.tab_gaps[-2]
        self.next_place = self.tab_place[self.passed]
        self.secure = self.reach >= self.next_place
        self.tab_secure = self.tab_reach >= self.tab_place
        if self.start.seam == "open" and not self.fixed:
            self.tab_secure[0] = not self.limited
        self.bare_cost = int(self.place[-1] - self.place[0]) * self.late
        self.has_bare = bool((np.diff(self.place) < np.diff(self.at)).any())
        beyond = self.zones.reach(self.at) - self.at
        longest = int(beyond[self.returns >= 0].max(initial=0)) // self.grid
        self.span = min(longest, self.count)
        self._bound()

    def _bound(self) -> None:
        """Note the fewest pieces that can be needed from each place on.

        They hold the rest of the run, their overlaps, and a shortest return as often as the
        fixings ahead are farther apart than the longest span.
        """
        shortest = min((r for r in self.returns.tolist() if r >= 0), default=0)
        span = max(int((self.reach - self.place).max(initial=0)), self.grid)
        begin = self.place + self.longest * self.grid
        ahead = np.maximum(-(-(self.next_place - begin) // span) - 1, 0)
        gaps = np.maximum(-(-(self.tab_place[1:-1] - self.tab_place[:-2]) // span) - 1, 0)
        later = np.append(np.cumsum(gaps[::-1])[::-1], [0, 0])
        returns = np.where(self.returns.max() >= 0, ahead + later[self.passed], 0)
        overlap = self.overlaps[0] * self.grid if self.overlaps else 0
        mesh = self.end_nm - self.at - overlap + returns * shortest
        self.to_go: Ints = np.maximum(-(-mesh // (self.whole_nm - overlap)), 1)

    def _possible(self) -> npt.NDArray[np.bool_]:
        """Return the places where some overlap lets a return be made."""
        found = np.zeros(self.count + 1, bool)
        begin, number = np.nonzero(self.joints < NEVER)
        found[begin] = found[begin + number + 1] = True
        if not self.run.closed or self.start.seam != "tab":
            found[[0, -1]] = True
        return found & (self.returns >= 0)


class _Covered:
    """How much of the run could be supported, up to any place, if all fixings were made."""

    def __init__(self, fixings: Ints, zones: ZoneMap) -> None:
        reach = np.maximum.accumulate(zones.reach(fixings))
        apart = np.flatnonzero(fixings[1:] > reach[:-1])
        self.starts = fixings[np.concatenate(([0], apart + 1))] if len(fixings) else fixings
        self.ends = reach[np.append(apart, len(fixings) - 1)] if len(fixings) else fixings
        self.before = np.concatenate(([0], np.cumsum(self.ends - self.starts)))

    def upto(self, at: Ints) -> Ints:
        """Return the length that could be supported before each place [nm]."""
        number = np.searchsorted(self.starts, at, "right")
        found = self.before[number]
        inside = number > 0
        beyond = self.ends[number[inside] - 1] - at[inside]
        found[inside] -= np.maximum(beyond, 0)
        return found
