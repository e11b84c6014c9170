"""From one return to the next with plain laps between them, where one piece cannot span it.

A return uses up mesh, so a piece that ends with one covers less of the run than the span
allows. Two returns a full span apart then have a plain lap between them. Which pairs of marks
can be joined so, and at what cost, depends on the run alone and is found once for every gap.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.calc.pieces.gaps import Gap
from service.calc.pieces.marks import between, ones
from service.calc.pieces.track import Track

_Chain = dict[tuple[int, int], dict[int, int]]


class Hop(msgspec.Struct, frozen=True, kw_only=True):
    """Returns `low` to `high` marks apart, joined over `laps` plain laps of `between_nm` in all.

    `lap_nm` is the lap at the first return; `end_lap_nm` and `return_nm` are those of the
    second. `barred` holds the first marks from which this does not work.
    """

    lap_nm: int
    laps: int
    between_nm: int
    end_lap_nm: int
    return_nm: int
    low: int
    high: int
    barred: int


def hops(track: Track, gap: Gap) -> list[Hop]:
    """Return every way over plain laps between two returns of a gap that may be needed."""
    pairs = _Pairs(track, gap)
    found: list[Hop] = []
    for lap, starts in pairs.starts().items():
        chains: list[_Chain] = []
        for (end_lap, length), ends in pairs.returns.items():
            nearest = max(1, (track.piece_nm - lap - length) // track.grid_nm + 1)
            for apart in range(nearest, pairs.farthest + 1):
                needed = starts & (ends >> apart)
                asked = needed & pairs.in_span(apart)
                asked &= ~pairs.apart(0, apart, 0, track.piece_nm - lap - length)
                if not asked:
                    continue
                for laps, total, joined in _joined(
                    pairs, chains, lap, starts, asked, apart, length
                ):
                    found.append(
                        Hop(
                            lap_nm=lap,
                            laps=laps,
                            between_nm=total,
                            end_lap_nm=end_lap,
                            return_nm=length,
                            low=apart,
                            high=apart,
                            barred=needed & ~joined,
                        )
                    )
    return found


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


class _Pairs:
    """Pairs of marks in one gap, as sets of the first mark of each."""

    def __init__(self, track: Track, gap: Gap) -> None:
        self.track, self.gap = track, gap
        self.count = gap.end - gap.first
        self.plain = {
            lap: track.part(marks, gap.first, self.count) for lap, marks in track.plain.items()
        }
        self.returns = {
            key: track.part(marks, gap.first, self.count) for key, marks in track.returns.items()
        }
        self.seams = self._seams()
        widest = max(zone.span_nm or 3 * track.run.length_nm for zone in track.run.zones)
        marks_apart = (widest + len(self.seams) * track.seam_nm) // track.grid_nm
        self.farthest = min(self.count - 1, marks_apart)

    def starts(self) -> dict[int, int]:
        """Return, by lap, the marks of returns that are not yet secure."""
        open_marks = ones(min(self.gap.secure, self.gap.end) - self.gap.first)
        found: dict[int, int] = {}
        for (lap, _), marks in self.returns.items():
            if marks & open_marks:
                found[lap] = found.get(lap, 0) | marks & open_marks
        return found

    def apart(self, first: int, second: int, low_nm: int, high_nm: int) -> int:
        """Return the marks whose `first` and `second` next are from `low_nm` to `high_nm` apart."""
        distance = (second - first) * self.track.grid_nm
        if not self.seams:
            return ones(self.count) if low_nm <= distance <= high_nm else 0
        crossing = {0: ones(self.count)}
        for seam in self.seams:
            over = between(max(seam - second, 0), seam - first - 1)
            after: dict[int, int] = {}
            for times, marks in crossing.items():
                after[times] = after.get(times, 0) | marks & ~over
                after[times + 1] = after.get(times + 1, 0) | marks & over
            crossing = after
        found = 0
        for times, marks in crossing.items():
            if low_nm <= distance - times * self.track.seam_nm <= high_nm:
                found |= marks
        return found

    def in_span(self, apart: int) -> int:
        """Return the marks from which the span rule lets the next fixing be `apart` marks on."""
        track, first = self.track, self.gap.first
        found = 0
        for low, high, span, until in self._limits():
            marks = between(max(low - first, 0), min(high - first, self.count - 1))
            if span is not None:
                found |= marks & self.apart(0, apart, 0, span)
            else:
                found |= marks & ones(track.last_mark(until) - apart - first + 1)
        return found

    def _limits(self) -> Iterator[tuple[int, int, int | None, int]]:
        track, length = self.track, self.track.run.length_nm
        turns = range(1)
        if track.run.closed:
            turns = range(self.gap.first // track.count, (self.gap.end - 1) // track.count + 1)
        for turn in turns:
            for stretch in track.spans:
                low = track.first_mark(turn * length + stretch.first_nm)
                high = track.last_mark(turn * length + stretch.last_nm)
                yield low, high, stretch.span_nm, turn * length + (stretch.until_nm or 0)

    def _seams(self) -> list[int]:
        track, gap = self.track, self.gap
        if not track.seam_nm or not track.run.closed:
            return []
        turns = range(gap.first // track.count + 1, (gap.end - 1) // track.count + 1)
        return [turn * track.count - gap.first for turn in turns]


def _joined(
    pairs: _Pairs,
    chains: list[_Chain],
    lap: int,
    starts: int,
    asked: int,
    apart: int,
    length: int,
) -> Iterator[tuple[int, int, int]]:
    """Yield the number of laps between, their sum and the first marks it joins, fewest first.

    `chains` is shared between calls with the same `lap` and grows as it is needed: entry by
    entry it says from which first marks one lap more comes out how many marks on.
    """
    laps = 0
    while asked:
        if laps == len(chains):
            chains.append(_chained(pairs, chains[-1] if chains else None, lap, starts))
        chain = chains[laps]
        laps += 1
        if not chain:
            return
        for (total, last), reached in sorted(chain.items()):
            joined = _closed(pairs, reached, last, asked, apart, length)
            if joined:
                yield laps, total, joined
                asked &= ~joined


def _closed(
    pairs: _Pairs, reached: dict[int, int], last: int, asked: int, apart: int, length: int
) -> int:
    """Return the first marks from which a chain's last lap reaches the return `apart` on."""
    track, joined = pairs.track, 0
    for there in sorted(reached, key=lambda there: abs(2 * there - apart)):
        if there < apart:
            marks = reached[there] & asked & ~joined
            if marks:
                joined |= marks & pairs.apart(
                    there, apart, track.least_nm - last, track.piece_nm - last - length
                )
            if joined == asked:
                break
    return joined


def _chained(pairs: _Pairs, chain: _Chain | None, lap: int, starts: int) -> _Chain:
    """Return a chain with one plain lap more: how far on, from which first marks."""
    track = pairs.track
    before: _Chain = chain if chain is not None else {(0, lap): {0: starts}}
    found: _Chain = {}
    for (total, last), reached in before.items():
        for there, marks in reached.items():
            low = max(1, (track.least_nm - last) // track.grid_nm)
            high = (track.piece_nm - last + 2 * track.seam_nm) // track.grid_nm
            for following in range(there + low, min(there + high, pairs.farthest) + 1):
                within = marks & pairs.apart(
                    there, following, track.least_nm - last, track.piece_nm - last
                )
                for next_lap, plain in pairs.plain.items():
                    ends = within & (plain >> following)
                    if ends:
                        row = found.setdefault((total + next_lap, next_lap), {})
                        row[following] = row.get(following, 0) | ends
    return found
