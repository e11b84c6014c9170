"""From one return to the next with plain laps between them, where one piece cannot span it.

A return uses up mesh, so a piece that ends with one covers less of the run than the span
allows. Two returns a full span apart then have a plain lap between them. Which pairs of marks
can be joined so, and at what cost, depends on the run alone and is found once for every gap.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.calc.pieces.gaps import Gap
from service.calc.pieces.pairs import Pairs
from service.calc.pieces.track import Track

_Step = dict[tuple[int, int], dict[int, int]]


class Hop(msgspec.Struct, frozen=True, kw_only=True):
    """Returns `low` to `high` marks apart, joined over `laps` plain laps of `between_nm` in all.

    `lap_nm` is the lap at the first return; `end_lap_nm` and `return_nm` are those of the
    second. `joined` holds first marks from which this works, `barred` those from which it does
    not; from any other there is no second return to come to.
    """

    lap_nm: int
    laps: int
    between_nm: int
    end_lap_nm: int
    return_nm: int
    low: int
    high: int
    joined: int
    barred: int


def hops(track: Track, gap: Gap) -> list[Hop]:
    """Return every way over plain laps between two returns of a gap that may be needed."""
    pairs = Pairs(track, gap)
    found: list[Hop] = []
    for lap, starts in pairs.starts.items():
        chains = _Chains(pairs, lap, starts)
        for (end_lap, length), ends in pairs.returns.items():
            nearest = max(1, (track.piece_nm - lap - length) // track.grid_nm + 1)
            for apart in range(nearest, pairs.farthest + 1):
                found += chains.hops(end_lap, length, ends, apart)
    return found


def known_hops(track: Track, gap: Gap) -> list[Hop]:
    """Return the hops of a gap, found once for all the times that the loop comes round to it."""
    first = gap.first % track.count if track.run.closed else gap.first
    key = first, gap.end - gap.first, gap.secure - gap.first
    known = track.known_hops.get(key)
    if known is None:
        known = track.known_hops[key] = hops(track, gap)
    return known


def merged(found: list[Hop]) -> list[Hop]:
    """Return the hops with neighbouring distances joined where nothing is barred."""
    kept: list[Hop] = []
    for hop in sorted(found, key=_kind_of_hop):
        last = kept[-1] if kept else None
        if (
            last is not None
            and _kind_of_hop(last)[:-1] == _kind_of_hop(hop)[:-1]
            and last.high + 1 == hop.low
            and not last.barred | hop.barred
        ):
            kept[-1] = msgspec.structs.replace(last, high=hop.high)
        else:
            kept.append(hop)
    return kept


def _kind_of_hop(hop: Hop) -> tuple[int, ...]:
    return hop.lap_nm, hop.end_lap_nm, hop.return_nm, hop.laps, hop.between_nm, hop.low


class _Chains:
    """Chains of plain laps from the returns of one lap, worked out one lap more at a time.

    `steps[n]` says, by the sum of n + 1 laps and the last of them, how many marks on such a
    chain comes out and from which first marks.
    """

    def __init__(self, pairs: Pairs, lap: int, starts: int) -> None:
        self.pairs, self.track = pairs, pairs.track
        self.lap, self.starts = lap, starts
        self.steps: list[_Step] = []

    def hops(self, end_lap: int, length: int, ends: int, apart: int) -> Iterator[Hop]:
        """Yield the hops onto returns `apart` marks on that no one piece reaches."""
        needed = self.starts & (ends >> apart)
        asked = needed & self.pairs.in_span(apart)
        asked &= ~self.pairs.apart(0, apart, 0, self.track.piece_nm - self.lap - length)
        for laps, total, joined in self._joined(asked, apart, length):
            yield Hop(
                lap_nm=self.lap,
                laps=laps,
                between_nm=total,
                end_lap_nm=end_lap,
                return_nm=length,
                low=apart,
                high=apart,
                joined=joined,
                barred=needed & ~joined,
            )

    def _joined(self, asked: int, apart: int, length: int) -> Iterator[tuple[int, int, int]]:
        """Yield the number of laps between, their sum and the first marks, fewest laps first."""
        for lap, joined in self._over_one(asked, apart, length):
            yield 1, lap, joined
            asked &= ~joined
        laps = 1
        while asked:
            while laps >= len(self.steps):
                self.steps.append(self._longer(self.steps[-1] if self.steps else None))
            step = self.steps[laps]
            if not step:
                return
            laps += 1
            for (total, last), reached in sorted(step.items()):
                joined = self._closed(reached, last, asked, apart, length)
                if joined:
                    yield laps, total, joined
                    asked &= ~joined

    def _over_one(self, asked: int, apart: int, length: int) -> Iterator[tuple[int, int]]:
        """Yield the lap between and the first marks, where one plain lap is all that is between.

        Mostly it is, and halfway there is a place for nearly all: so places are looked at from
        there on outwards, and no table of steps is made.
        """
        track, pairs = self.track, self.pairs
        halfway = sorted(range(1, apart), key=lambda there: abs(2 * there - apart))
        for lap, plain in sorted(pairs.plain.items()):
            low, high = track.least_nm - lap, track.piece_nm - lap - length
            joined = 0
            for there in halfway:
                marks = asked & ~joined & plain >> there
                if marks:
                    marks &= pairs.apart(
                        0, there, track.least_nm - self.lap, track.piece_nm - self.lap
                    )
                    joined |= marks & pairs.apart(there, apart, low, high)
                if joined == asked:
                    break
            if joined:
                yield lap, joined
                asked &= ~joined
            if not asked:
                return

    def _closed(
        self, reached: dict[int, int], last: int, asked: int, apart: int, length: int
    ) -> int:
        """Return the first marks whose chain comes within a piece of the return `apart` on."""
        low, high = self.track.least_nm - last, self.track.piece_nm - last - length
        farthest = self._marks(high, len(self.pairs.seams))
        joined = 0
        for there in sorted(
            range(max(apart - farthest, 0), apart), key=lambda there: abs(2 * there - apart)
        ):
            marks = reached.get(there, 0) & asked & ~joined
            if marks:
                joined |= marks & self.pairs.apart(there, apart, low, high)
            if joined == asked:
                break
        return joined

    def _longer(self, step: _Step | None) -> _Step:
        """Return the chains with one plain lap more."""
        before: _Step = {(0, self.lap): {0: self.starts}} if step is None else step
        found: _Step = {}
        for (total, last), reached in before.items():
            for following, marks in self._onward(reached, last):
                for lap, plain in self.pairs.plain.items():
                    ends = marks & (plain >> following)
                    if ends:
                        row = found.setdefault((total + lap, lap), {})
                        row[following] = row.get(following, 0) | ends
        return found

    def _onward(self, reached: dict[int, int], last: int) -> Iterator[tuple[int, int]]:
        """Yield how far one piece more comes, and from which first marks.

        Distances are shorter by the seam for each origin passed, so ends are taken apart by
        the origins passed before and after them.
        """
        seams = len(self.pairs.seams)
        sides = [self.pairs.sides(onward) for onward in range(self.pairs.farthest + 1)]
        for passed in range(seams + 1):
            here = [reached.get(at, 0) & marks[passed] for at, marks in enumerate(sides)]
            for turns in range(seams + 1 - passed):
                low = max(1, -self._marks(last - self.track.least_nm, -turns))
                high = self._marks(self.track.piece_nm - last, turns)
                for at, marks in enumerate(_spread(here, low, high)):
                    if marks & sides[at][passed + turns]:
                        yield at, marks & sides[at][passed + turns]

    def _marks(self, length_nm: int, turns: int) -> int:
        """Return the whole marks in a length that is told with some origins passed."""
        return (length_nm + turns * self.track.seam_nm) // self.track.grid_nm


def _spread(marks: list[int], low: int, high: int) -> list[int]:
    """Return, for each place, what is in the list from `high` to `low` places before it."""
    covered, wanted = 1, high - low + 1
    if wanted < 1:
        return []
    while covered < wanted:
        step = min(covered, wanted - covered)
        shifted = [0] * step + marks
        marks = [one | other for one, other in zip(marks, shifted, strict=False)]
        covered += step
    return [*([0] * low), *marks][: len(marks)]
