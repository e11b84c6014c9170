"""A small linear program that grows by columns: the least cost at which all rows are met."""

from __future__ import annotations

from collections.abc import Sequence

_NOUGHT = 1e-9

Parts = tuple[tuple[int, int], ...]
"""What a column adds to which rows."""


class Simplex:
    """The revised simplex method with an explicit inverse, in plain floats.

    Every row starts met by a slack of its own, at that slack's cost; columns 0 to n - 1 are
    the slacks, the added ones follow. Good for some hundred rows. Ties go to the lower column.
    """

    def __init__(self, levels: Sequence[int], slack_costs: Sequence[float]) -> None:
        self.size = len(levels)
        self.levels = [float(level) for level in levels]
        self.costs = list(slack_costs)
        self.parts: list[Parts] = [((row, 1),) for row in range(self.size)]
        self.basis = list(range(self.size))
        self.inverse = [[float(i == j) for j in range(self.size)] for i in range(self.size)]
        self.duals = list(slack_costs)

    @property
    def objective(self) -> float:
        """Return the cost as it stands."""
        return sum(self.costs[b] * level for b, level in zip(self.basis, self.levels, strict=True))

    def add(self, parts: Parts, cost: float) -> None:
        """Add a column; it is out of the basis until a pivot takes it in."""
        self.parts.append(parts)
        self.costs.append(cost)

    def entering(self) -> int | None:
        """Return the column that lowers the cost fastest, or None if none does."""
        lowest, best = -_NOUGHT, None
        for column, (parts, cost) in enumerate(zip(self.parts, self.costs, strict=True)):
            reduced = cost
            for row, count in parts:
                reduced -= self.duals[row] * count
            if reduced < lowest:
                lowest, best = reduced, column
        return best

    def pivot(self, entering: int) -> bool:
        """Take a column into the basis; return False if nothing would have to leave for it."""
        parts = self.parts[entering]
        step = [sum(line[row] * count for row, count in parts) for line in self.inverse]
        rows = [i for i, value in enumerate(step) if value > _NOUGHT]
        if not rows:
            return False
        leaving = min(rows, key=lambda i: (self.levels[i] / step[i], self.basis[i]))
        ratio = self.levels[leaving] / step[leaving]
        pivot = [value / step[leaving] for value in self.inverse[leaving]]
        for i, factor in enumerate(step):
            if factor and i != leaving:
                line = self.inverse[i]
                self.inverse[i] = [a - factor * b for a, b in zip(line, pivot, strict=True)]
                self.levels[i] = max(0.0, self.levels[i] - factor * ratio)
        self.inverse[leaving], self.levels[leaving] = pivot, ratio
        self.basis[leaving] = entering
        self._price_rows()
        return True

    def used(self) -> dict[int, float]:
        """Return the added columns that are in use, by number from 0, and their levels."""
        return {
            column - self.size: level
            for column, level in zip(self.basis, self.levels, strict=True)
            if column >= self.size and level > _NOUGHT
        }

    def _price_rows(self) -> None:
        duals = [0.0] * self.size
        for column, line in zip(self.basis, self.inverse, strict=True):
            cost = self.costs[column]
            if cost:
                duals = [dual + cost * value for dual, value in zip(duals, line, strict=True)]
        self.duals = duals
