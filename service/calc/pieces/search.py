"""The search: all layouts of one cost are carried on together, the cheapest first.

A cost is one whole number made of three: pieces in overlong spans, then pieces, then mesh, each
outweighing all that follow. A mark that was reached at some cost is never reached cheaper
later, so the first layout that comes back to its own start is the best there is.
"""

from __future__ import annotations

from heapq import heappop, heappush

import msgspec

from service.calc.pieces.board import FIXED, LOOSE, SECURE, WAITING, Board, Cell, Landing
from service.calc.pieces.hops import Hop
from service.calc.pieces.marks import ones, spread


class Step(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One move of a whole set: where from, how far, and how the pieces end there.

    `laps` counts plain laps passed over on the way, `between_nm` is their sum.
    """

    source: tuple[int, int, int]
    marks: int
    low: int
    high: int
    onto: Landing
    laps: int = 0
    between_nm: int = 0


class Source(msgspec.Struct, kw_only=True, gc=False):
    """A set of piece ends of one cost, kind and lap in one cell, about to move on."""

    cost: int
    cell: int
    kind: int
    lap_nm: int
    marks: int
    last: int
    reached: dict[tuple[int, int], int] = msgspec.field(default_factory=dict)


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """Where a layout closed: its cost, cell, kind and bit."""

    cost: int
    cell: int
    kind: int
    bit: int


class Search:
    """One search on a board. With `loose`, overlong spans are allowed and counted."""

    def __init__(self, board: Board, *, loose: bool) -> None:
        self.board, self.loose = board, loose
        self.cells = board.cells
        self.steps: dict[tuple[int, int, int], list[Step]] = {}
        self.unreached = [[ones(cell.count * board.width)] * 4 for cell in self.cells]
        self.pending: dict[tuple[int, int], list[int]] = {}
        self.queue: list[tuple[int, int]] = []
        self.found: Found | None = None
        self.piece_cost, self.loose_cost = _weights(board)

    def start(self, cell: int, kind: int, marks: int) -> None:
        """Begin layouts at marks of a cell, at no cost."""
        self._await(0, cell)[kind] |= marks

    def run(self) -> Found | None:
        """Return the cheapest layout that closes, or None if none does."""
        self.found = self._cheapest()
        return self.found

    def furthest(self) -> int:
        """Return the furthest mark reached."""
        marks = -1
        for cell, left in zip(self.cells, self.unreached, strict=True):
            reached = ones(cell.count * self.board.width) & ~(left[0] & left[1] & left[2] & left[3])
            if reached:
                marks = cell.first + (reached.bit_length() - 1) // self.board.width
        return marks

    def _cheapest(self) -> Found | None:
        while self.queue:
            cost, index = heappop(self.queue)
            sets = self.pending.pop((cost, index))
            left, cell = self.unreached[index], self.cells[index]
            for kind in (SECURE, WAITING, LOOSE, FIXED):
                sets[kind] &= left[kind]
                closed = sets[kind] & cell.goal[kind]
                if closed and cost:
                    bit = (closed & -closed).bit_length() - 1
                    return Found(cost=cost, cell=index, kind=kind, bit=bit)
                left[kind] ^= sets[kind]
                if kind == SECURE and sets[SECURE]:
                    left[1:] = [marks & left[SECURE] for marks in left[1:]]
            self._move_on(cost, index, sets)
        return None

    def _move_on(self, cost: int, index: int, sets: list[int]) -> None:
        cell = self.cells[index]
        moves = (self._from_secure, self._from_waiting, self._from_loose, self._from_fixed)
        for lap, among in cell.sources:
            for kind, move in enumerate(moves):
                marks = sets[kind] & among
                if marks:
                    last = cell.first + marks.bit_length() // self.board.width
                    source = Source(
                        cost=cost, cell=index, kind=kind, lap_nm=lap, marks=marks, last=last
                    )
                    move(source, cell)

    def _from_secure(self, source: Source, cell: Cell) -> None:
        self._beyond(source, cell, 0)
        if cell.wide:
            self._within_gap(source, cell, SECURE, 0)

    def _from_waiting(self, source: Source, cell: Cell) -> None:
        self._within_gap(source, cell, WAITING, 0)
        for index in cell.in_gap:
            self._land(source, index, self.cells[index].returns_within, 0)

    def _from_loose(self, source: Source, cell: Cell) -> None:
        self._beyond(source, cell, self.loose_cost)
        self._within_gap(source, cell, LOOSE, self.loose_cost)
        for index in cell.in_gap:
            self._land(source, index, self.cells[index].returns, self.loose_cost)

    def _from_fixed(self, source: Source, cell: Cell) -> None:
        self._to_next_return(source, cell)
        for hop in cell.hops:
            marks = source.marks & ~hop.barred
            if not marks or hop.lap_nm != source.lap_nm:
                continue
            free = source
            if marks != source.marks:
                free = msgspec.structs.replace(source, marks=marks, reached={})
            self._hop(free, cell, hop)
        if self.loose:
            self._from_loose(source, cell)

    def _beyond(self, source: Source, cell: Cell, extra: int) -> None:
        """Move on past the gap's end, or freely where the gap is narrow."""
        passed = self.board.wide_before
        for index in cell.beyond:
            target = self.cells[index]
            skipped = max(passed[target.gap] - passed[cell.gap + 1], 0)
            if skipped and not self.loose:
                break
            cost = extra + skipped * self.loose_cost
            self._land(source, index, target.enter, cost)
            if self.loose:
                self._land(source, index, target.enter_loose, cost + self.loose_cost)

    def _within_gap(self, source: Source, cell: Cell, kind: int, extra: int) -> None:
        for index in cell.in_gap:
            self._land(source, index, self.cells[index].carry[kind], extra)

    def _to_next_return(self, source: Source, cell: Cell) -> None:
        """Move on by one piece to a return that the span rule lets follow."""
        for limit in cell.limits:
            marks = source.marks & limit.marks
            if not marks:
                continue
            near = source
            if marks != source.marks:
                near = msgspec.structs.replace(source, marks=marks, reached={})
            for index in cell.in_gap:
                target = self.cells[index]
                landings, within = target.returns, None
                if limit.span_nm is None:
                    landings = self._until(target, limit.until_nm)
                else:
                    within = limit.span_nm
                self._land(near, index, landings, 0, within)

    def _until(self, target: Cell, until_nm: int) -> list[Landing]:
        count = self.board.track.last_mark(until_nm) - target.first + 1
        among = (1 << max(count, 0) * self.board.width) - 1
        return [
            msgspec.structs.replace(landing, marks=landing.marks & among)
            for landing in target.returns
        ]

    def _land(
        self,
        source: Source,
        index: int,
        landings: list[Landing],
        extra: int,
        within_nm: int | None = None,
    ) -> None:
        """Move a set on by one piece onto the marks of one cell."""
        track, target = self.board.track, self.cells[index]
        cell = self.cells[source.cell]
        lacking = target.shift_nm - cell.shift_nm
        low = -(-(track.least_nm - source.lap_nm + lacking) // track.grid_nm)
        for landing in landings:
            longest = track.piece_nm - source.lap_nm - (landing.return_nm or 0)
            if within_nm is not None:
                longest = min(longest, within_nm)
            high = (longest + lacking) // track.grid_nm
            self._put(source, index, landing, low, high, extra + self.piece_cost)

    def _hop(self, source: Source, cell: Cell, hop: Hop) -> None:
        extra = (hop.laps + 1) * self.piece_cost + hop.between_nm
        for index in range(source.cell, len(self.cells)):
            target = self.cells[index]
            if target.first > cell.first + cell.count + hop.high or target.gap != cell.gap:
                break
            for landing in target.returns:
                if (landing.lap_nm, landing.return_nm) == (hop.end_lap_nm, hop.return_nm):
                    self._put(
                        source, index, landing, hop.low, hop.high, extra, hop.laps, hop.between_nm
                    )

    def _put(
        self,
        source: Source,
        index: int,
        landing: Landing,
        low: int,
        high: int,
        extra: int,
        laps: int = 0,
        between_nm: int = 0,
    ) -> None:
        width, target = self.board.width, self.cells[index]
        if source.last + high < target.first:
            return
        reached = source.reached.get((low, high))
        if reached is None:
            reached = source.reached[low, high] = spread(source.marks, low, high, width)
        offset = (target.first - self.cells[source.cell].first) * width
        marks = reached >> offset & landing.marks & self.unreached[index][landing.kind]
        if not marks:
            return
        cost = source.cost + extra + landing.lap_nm + (landing.return_nm or 0)
        self._await(cost, index)[landing.kind] |= marks
        step = Step(
            source=(source.cost, source.cell, source.kind),
            marks=source.marks,
            low=low,
            high=high,
            onto=landing,
            laps=laps,
            between_nm=between_nm,
        )
        self.steps.setdefault((cost, index, landing.kind), []).append(step)

    def _await(self, cost: int, index: int) -> list[int]:
        key = cost, index
        sets = self.pending.get(key)
        if sets is None:
            sets = self.pending[key] = [0, 0, 0, 0]
            heappush(self.queue, key)
        return sets


def _weights(board: Board) -> tuple[int, int]:
    """Return the cost of a piece and of one in an overlong span, in mesh [nm]."""
    track = board.track
    marks = board.cells[-1].first + board.cells[-1].count - board.cells[0].first + 2
    longest = max(stretch.lap_nm for stretch in track.laps)
    longest += max((reach.return_nm for reach in track.run.reaches), default=0)
    piece = 1 << (marks * longest).bit_length()
    return piece, piece << marks.bit_length()
