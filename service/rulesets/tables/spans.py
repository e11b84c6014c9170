"""Spans cut at every threshold that a row names, and a value's place among the pieces."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence

from service.rulesets.tables.model import Range, Span

Edges = tuple[int, int]


def cut_span(
    span: Span, conditions: Sequence[Sequence[Range]]
) -> tuple[list[int], list[list[Edges]]]:
    """Return the edges of the span's cells, rising, and each condition's ranges between edges.

    The first and the last edge are the ends of the domain; an open end is written as a number
    beyond all that are named. Ranges come out rising, apart from each other, clipped to the domain,
    without the empty ones.
    """
    floor, ceiling = _ends(span, [one for ranges in conditions for one in ranges])
    spreads = [_merged(_clipped(ranges, floor, ceiling)) for ranges in conditions]
    named = {edge for ranges in spreads for edges in ranges for edge in edges}
    return sorted(named | {floor, ceiling}), spreads


def span_finder(
    span: Span, cuts: Sequence[int], masks: Sequence[int]
) -> Callable[[object], int | None]:
    """Return a function from a value to the rows of its cell, None outside the domain."""
    least, below = span.least, span.below

    def rows_of(value: object) -> int | None:
        if type(value) is not int:
            return None
        if (least is not None and value < least) or (below is not None and value >= below):
            return None
        return masks[bisect_right(cuts, value)]

    return rows_of


def _ends(span: Span, ranges: Iterable[Range]) -> Edges:
    named = [end for one in ranges for end in (one.least, one.below) if end is not None]
    named += [end for end in (span.least, span.below) if end is not None]
    floor = min(named, default=0) - 1 if span.least is None else span.least
    ceiling = max(named, default=0) + 1 if span.below is None else span.below
    return floor, ceiling


def _clipped(ranges: Iterable[Range], floor: int, ceiling: int) -> list[Edges]:
    pairs = (
        (
            floor if one.least is None else max(floor, one.least),
            ceiling if one.below is None else min(ceiling, one.below),
        )
        for one in ranges
    )
    return sorted((least, below) for least, below in pairs if least < below)


def _merged(ranges: Iterable[Edges]) -> list[Edges]:
    apart: list[Edges] = []
    for least, below in ranges:
        if apart and least <= apart[-1][1]:
            apart[-1] = (apart[-1][0], max(below, apart[-1][1]))
        else:
            apart.append((least, below))
    return apart
