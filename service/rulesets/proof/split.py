"""Two judgements a search makes at each step: does counting settle it, and where to split."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations, islice, pairwise
from math import prod

from service.rulesets.proof.columns import Column, Columns

TRIED = 6
WEIGHED = 3


def covers_by_count(sides: Sequence[Sequence[int]], columns: Columns, live: int) -> bool | None:
    """Return whether the rows cover all points of the columns, as far as counting can tell.

    Fewer points in the rows than there are: something is uncovered. As many: all is covered just
    when no two rows share a point. More: None, counting does not tell.
    """
    boxes = [(sides[place], _cells(column)) for place, column in columns.items()]
    left = prod(len(column) for column in columns.values())
    for row in numbers(live):
        points = 1
        for side, cells in boxes:
            points *= (side[row] & cells).bit_count()
        left -= points
        if left < 0:
            return None
    return not left and not any(_meet(boxes, *pair) for pair in combinations(numbers(live), 2))


def best_split(columns: Columns, live: int, opens: Mapping[int, int]) -> tuple[int, int, int]:
    """Return (dimension, row, work): split that dimension into the cells outside and in the row.

    Of the rows open on the fewest dimensions the first few are tried. A split is good when on both
    sides many rows lose their condition there, rows with few conditions left counting most.
    """
    classes = _weighted(live, opens)
    best, choice, work = 0, (0, 0), 0
    for number in islice(numbers(classes[0][1]), TRIED):
        row = 1 << number
        for place, rows in opens.items():
            if row & rows:
                inside, outside = _satisfied(columns[place], row, rows)
                gain = _worth(inside, classes) * _worth(outside, classes)
                work += len(columns[place])
                if gain > best:
                    best, choice = gain, (place, row)
    return (*choice, work)


def numbers(rows: int) -> Iterator[int]:
    """Yield the numbers of the rows in a set, rising."""
    while rows:
        yield (rows & -rows).bit_length() - 1
        rows &= rows - 1


def _meet(boxes: Iterable[tuple[Sequence[int], int]], one: int, other: int) -> bool:
    return all(side[one] & side[other] & cells for side, cells in boxes)


def _cells(column: Column) -> int:
    return sum(1 << cell for cell in column.values())


def _weighted(live: int, opens: Mapping[int, int]) -> list[tuple[int, int]]:
    """Return (weight, rows) by how many conditions the rows have left, the fewest first.

    A weight is a power of two; each condition more divides by four.
    """
    at_least = [live] + [0] * (len(opens) + 1)
    for rows in opens.values():
        for count in range(len(opens), 0, -1):
            at_least[count] |= at_least[count - 1] & rows
    exact = [rows & ~more for rows, more in pairwise(at_least)]
    classes = [(count, rows) for count, rows in enumerate(exact) if rows][:WEIGHED]
    most = classes[-1][0]
    return [(2 * (most - count), rows) for count, rows in classes]


def _satisfied(column: Column, row: int, rows: int) -> tuple[int, int]:
    """Return the open rows that all cells in the row satisfy, and those that all others do."""
    inside = outside = rows
    for mask in column:
        if mask & row:
            inside &= mask
        else:
            outside &= mask
    return inside, outside


def _worth(rows: int, classes: Sequence[tuple[int, int]]) -> int:
    worth = 1
    for weight, among in classes:
        worth += (rows & among).bit_count() << weight
    return worth
