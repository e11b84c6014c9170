"""Sets of tape marks as the bits of one integer: one bit a mark, the origin's lowest.

Whole sets are then moved, joined and cut by single integer operations.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

_FILLED = re.compile("1+")


def ones(count: int) -> int:
    """Return the set of the first `count` marks."""
    return (1 << count) - 1 if count > 0 else 0


def between(first: int, last: int) -> int:
    """Return the set of marks from `first` to `last`, both included."""
    return ones(last - first + 1) << first if last >= first >= 0 else 0


def joined(ranges: Iterable[tuple[int, int]]) -> int:
    """Return the set of all marks in any of the ranges, ends included."""
    marks = 0
    for first, last in ranges:
        marks |= between(first, last)
    return marks


def filled(marks: int) -> Iterator[tuple[int, int]]:
    """Yield the first and last mark of each unbroken row of marks in a set."""
    for row in _FILLED.finditer(bin(marks)[:1:-1]):
        yield row.start(), row.end() - 1


def widened(marks: int, width: int) -> int:
    """Return a set with each mark replaced by `width` equal bits."""
    if width == 1:
        return marks
    return joined((first * width, (last + 1) * width - 1) for first, last in filled(marks))


def spread(marks: int, low: int, high: int, width: int = 1) -> int:
    """Return every place from `low` to `high` marks past a mark of the set.

    `width` is the number of bits to a mark.
    """
    if high < low:
        return 0
    covered, wanted = 1, high - low + 1
    while covered < wanted:
        step = covered if 2 * covered <= wanted else wanted - covered
        marks |= marks << step * width
        covered += step
    return marks << low * width
