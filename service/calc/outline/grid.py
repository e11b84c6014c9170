"""Plain grids: rows merged before anything else looks at them, and a perimeter in closed form."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from service.calc.outline.edges import OverlapError, Rect


def merged(rects: Iterable[Rect], gap: int) -> list[Rect]:
    """Return fewer boxes that cover the same, gaps up to `gap` within rows and columns closed.

    Modules of one height side by side become one box, then boxes of one width above one
    another; a whole grid becomes a single box. All of it is closing that the general way does
    as well, only cheaper. Errors: OverlapError where two boxes of one row overlap.
    """
    return _turned_over(_rows(_turned_over(_rows(rects, gap)), gap))


def _rows(rects: Iterable[Rect], gap: int) -> list[Rect]:
    rows: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    for left, lower, right, upper in rects:
        rows[lower, upper].append((left, right))
    return [
        (left, lower, right, upper)
        for (lower, upper), spans in rows.items()
        for left, right in _joined(spans, gap)
    ]


def _joined(spans: list[tuple[int, int]], gap: int) -> list[tuple[int, int]]:
    spans.sort()
    joined = []
    first, last = spans[0]
    for left, right in spans[1:]:
        if left < last:
            raise OverlapError
        if left - last > gap:
            joined.append((first, last))
            first = left
        last = right
    return [*joined, (first, last)]


def _turned_over(rects: Iterable[Rect]) -> list[Rect]:
    return [(lower, left, upper, right) for left, lower, right, upper in rects]


def closed_form_perimeter_nm(
    rows: int,
    columns: int,
    *,
    width_nm: int,
    height_nm: int,
    column_gap_nm: int,
    row_gap_nm: int,
    join_gap_nm: int,
) -> int:
    """Return the perimeter [nm] of a full grid of equal modules, all its arrays together.

    A gap above `join_gap_nm` parts the grid into separate columns or rows.
    Source: plane geometry; equal to the outline of the same modules.
    """
    across, wide = _blocks(columns, width_nm, column_gap_nm, join_gap_nm)
    up, high = _blocks(rows, height_nm, row_gap_nm, join_gap_nm)
    return 2 * (wide * up + high * across)


def _blocks(count: int, each_nm: int, gap_nm: int, join_gap_nm: int) -> tuple[int, int]:
    """Return how many blocks the joined modules of one line form, and their length together."""
    if gap_nm > join_gap_nm:
        return count, count * each_nm
    return 1, count * each_nm + (count - 1) * gap_nm
