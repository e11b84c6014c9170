"""What a search has reached: sets of piece ends by their cost, and the steps that led there.

A mark that was reached at some cost is never reached cheaper later, since sets are taken up
cheapest first and every piece costs something.
"""

from __future__ import annotations

from functools import reduce
from heapq import heappop, heappush
from operator import and_

import msgspec

from service.calc.pieces.board import Board
from service.calc.pieces.cells import SECURE, Landing
from service.calc.pieces.marks import ones, spread


class Step(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One move of a whole set: where from, how far, and how the pieces end there.

    `source` is its cost, cell and kind. `laps` counts plain laps passed over on the way,
    `between_nm` is their sum.
    """

    source: tuple[int, int, int]
    marks: int
    low: int
    high: int
    onto: Landing
    laps: int
    between_nm: int


class Source(msgspec.Struct, kw_only=True, gc=False):
    """Piece ends of one cost, kind and lap in one cell, none past mark `last`, to move on from.

    `reached` keeps what was worked out of where they come.
    """

    cost: int
    cell: int
    kind: int
    lap_nm: int
    marks: int
    last: int
    reached: dict[tuple[int, int], int] = msgspec.field(default_factory=dict)

    def among(self, marks: int) -> Source:
        """Return those of the piece ends that are in a set."""
        marks &= self.marks
        if marks == self.marks:
            return self
        return msgspec.structs.replace(self, marks=marks, reached={})


class Move(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How far a set moves, `low` to `high` marks, what that costs, and laps passed over."""

    low: int
    high: int
    cost: int
    laps: int = 0
    between_nm: int = 0


class Levels:
    """Sets of piece ends still to be taken up, and which marks were reached in which way."""

    def __init__(self, board: Board) -> None:
        self.width, self.cells = board.width, board.cells
        self.steps: dict[tuple[int, int, int], list[Step]] = {}
        self._left = [[ones(cell.count * board.width)] * len(cell.goal) for cell in board.cells]
        self._waiting: dict[tuple[int, int], list[int]] = {}
        self._queue: list[tuple[int, int]] = []

    def note(self, cost: int, cell: int, kind: int, marks: int) -> None:
        """Note piece ends of a cell to be taken up at their cost."""
        key = cost, cell
        sets = self._waiting.get(key)
        if sets is None:
            sets = self._waiting[key] = [0] * len(self.cells[cell].goal)
            heappush(self._queue, key)
        sets[kind] |= marks

    def take(self) -> tuple[int, int, list[int]] | None:
        """Return the cheapest cost, its cell and the marks newly reached there by kind."""
        if not self._queue:
            return None
        cost, index = heappop(self._queue)
        sets, left = self._waiting.pop((cost, index)), self._left[index]
        for kind in range(len(sets)):
            sets[kind] &= left[kind]
            left[kind] ^= sets[kind]
            if kind == SECURE and sets[SECURE]:
                left[1:] = [marks & left[SECURE] for marks in left[1:]]
        return cost, index, sets

    def put(self, source: Source, index: int, landing: Landing, move: Move) -> None:
        """Move piece ends onto the marks of one cell and note those not reached before."""
        target = self.cells[index]
        free = landing.marks & self._left[index][landing.kind]
        if not free or source.last + move.high < target.first:
            return
        reached = source.reached.get((move.low, move.high))
        if reached is None:
            reached = spread(source.marks, move.low, move.high, self.width)
            source.reached[move.low, move.high] = reached
        offset = (target.first - self.cells[source.cell].first) * self.width
        marks = reached >> offset & free
        if not marks:
            return
        cost = source.cost + move.cost + landing.lap_nm + (landing.return_nm or 0)
        self.note(cost, index, landing.kind, marks)
        step = Step(
            source=(source.cost, source.cell, source.kind),
            marks=source.marks,
            low=move.low,
            high=move.high,
            onto=landing,
            laps=move.laps,
            between_nm=move.between_nm,
        )
        self.steps.setdefault((cost, index, landing.kind), []).append(step)

    def furthest(self) -> int:
        """Return the furthest mark reached."""
        found = -1
        for cell, left in zip(self.cells, self._left, strict=True):
            reached = ones(cell.count * self.width) ^ reduce(and_, left)
            if reached:
                found = cell.first + (reached.bit_length() - 1) // self.width
        return found
