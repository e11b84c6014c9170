"""What pieces reach in layouts of one cost: piece after piece, and from a start's own mark back.

An end is told by its mark, by the returns made so far, by the wide gaps that are done with, and by
whether the last return must still be followed by another in its gap. What so many pieces reach is
a plain set of marks for each of these.
"""

from __future__ import annotations

from functools import reduce
from operator import or_
from typing import NamedTuple

from service.calc.pieces.trace import Best, Cost, End, laps_between
from service.calc.pieces.ways import Ways
from service.quantity.whole import whole

State = tuple[int, int, bool]
"""Wide gaps done with, returns made, and whether the last of them must be followed by another."""
Row = dict[State, int]


class Starts(NamedTuple):
    """Marks at which a layout may start, in what state, and the origin ahead."""

    marks: list[int]
    state: State
    origin: int


class Room(NamedTuple):
    """What the layouts of one window have in common.

    There are `wide` gaps once round, and the gaps before each stage take `taken_before` returns,
    none of less mesh than `shortest_nm`. A piece covers `reach_nm`, its return among it.
    """

    ways: Ways
    wide: int
    taken_before: list[int]
    shortest_nm: int
    reach_nm: int


class _Step(NamedTuple):
    """A step onto an end: the state and the ends that it may come from.

    `lap` says that a plain lap lies between two returns, so that it takes two pieces.
    """

    came: State
    return_nm: int | None
    sources: int
    lap: bool = False


class Level:
    """The layouts of one cost, with so many returns.

    With `hops`, two returns of a gap may have a plain lap between them.
    """

    def __init__(self, room: Room, cost: Cost, returns: int, *, hops: bool) -> None:
        self.room, self.ways, self.track = room, room.ways, room.ways.track
        self.cost, self.pieces, self.returns, self.hops = cost, cost[1], returns, hops

    def first_closed(self, starts: Starts) -> Best | None:
        """Return the layout from the first of some starts from which there is one.

        They are tried together, as if each might come back to the mark of any other. Where not
        even that comes back to one's own mark, that one has no layout.
        """
        end, count = self._end(starts.state), self.track.count
        rows = self._rows(starts, end)
        ends = rows[-1].get(end, 0) if len(rows) > self.pieces else 0
        marks = [mark for mark in starts.marks if ends >> mark + count & 1]
        if not marks:
            return None
        if len(starts.marks) == 1:
            way = self._way_back(rows, marks[0] + count, end, starts.origin)
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
        return stage + self.room.wide, self.returns, pending

    def _rows(self, starts: Starts, end: State) -> list[Row]:
        """Return the ends that one piece after the other reaches, by their state.

        Ends from which what is left does not suffice are left out: the returns for the gaps, or
        the pieces for the way. There are no more rows once none is left.
        """
        rows: list[Row] = [{starts.state: reduce(or_, (1 << mark for mark in starts.marks))}]
        nearest = min(starts.marks) + self.track.count
        most = self._most_made(end)
        over_lap: Row = {}
        for left in reversed(range(self.pieces)):
            row, over_lap = over_lap, {}
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
                if pending and left and self.hops:
                    self._hop((stage, made, pending), ends, most, over_lap)
            if not row and not over_lap:
                break
            rows.append(row)
        return rows

    def _hop(self, state: State, ends: int, most: dict[tuple[int, bool], int], row: Row) -> None:
        """Note the returns that come after some returns and a plain lap."""
        stage, made, _ = state
        for hop in self.ways.hops[stage]:
            following = hop.stage, made + 1, hop.pending
            found = (ends & hop.joined) << hop.apart
            if found and made < most[hop.stage, hop.pending]:
                row[following] = row.get(following, 0) | found

    def _most_made(self, end: State) -> dict[tuple[int, bool], int]:
        """Return how many returns may have been made, by stage and whether one is pending.

        What is left must do for the gaps up to the end; past it none are left.
        """
        last, _, pending_end = end
        before = self.room.taken_before
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
        turned_nm = (self.returns - made) * self.room.shortest_nm
        reach_nm = pieces * self.room.reach_nm - turned_nm + self.track.seam_nm
        return reach_nm // self.track.grid_nm

    def _way_back(self, rows: list[Row], mark: int, state: State, origin: int) -> list[End]:
        """Return the ends of a layout from its last one back, in the order of work."""
        ends: list[End] = []
        first, at = self.ways.first, len(rows) - 1
        while at:
            step = self._before(rows, at, mark, state, origin)
            before = step.sources.bit_length() - 1
            ends.append(End(mark=mark + first, return_nm=step.return_nm))
            if step.lap:
                length, lap = step.return_nm or 0, self.ways.lap_nm
                between = laps_between(self.track, before + first, mark + first, 1, lap, length)
                ends += [End(mark=there) for there in between]
            mark, state, at = before, step.came, at - 1 - step.lap
        return ends[::-1]

    def _before(self, rows: list[Row], at: int, mark: int, state: State, origin: int) -> _Step:
        """Return the step onto an end that the search would take: from where, and the ends."""
        hop = self._hop_before(rows[at - 2], mark, state) if self.hops and at > 1 else None
        if hop:
            return hop
        found: list[_Step] = []
        stage, made, pending = state
        for step in self.ways.back[stage, pending]:
            if found and not step.returns:
                break
            came = step.came, made - step.returns, step.came_pending
            sources = self.ways.sources(rows[at - 1].get(came, 0), mark, step.way, origin)
            if sources:
                found.append(_Step(came, step.way.return_nm, sources))
        first = found[0]
        if len(found) > 1:
            cell = self.ways.first_part(first.sources | found[1].sources)
            first = next(step for step in found if step.sources & cell)
        part = self.ways.first_part(first.sources, spans=first.came[2])
        return first._replace(sources=part)

    def _hop_before(self, row: Row, mark: int, state: State) -> _Step | None:
        """Return the step onto a return over a plain lap, if there is one."""
        stage, made, pending = state
        onto = stage if pending else stage - 1
        came = onto, made - 1, True
        ends, sources, return_nm = row.get(came, 0), 0, 0
        for hop in self.ways.hops[onto] if ends else ():
            if (hop.stage, hop.pending) == (stage, pending) and mark >= hop.apart:
                sources |= ends & hop.joined & 1 << mark - hop.apart
                return_nm = hop.return_nm
        if not sources:
            return None
        part = self.ways.first_part(sources, spans=True)
        return _Step(came, return_nm, part, lap=True)
