"""Decision tables, in the terms of the DMN standard, and their conditions in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import StrEnum

import msgspec


class HitPolicy(StrEnum):
    """Which of the rows that match an input decide.

    UNIQUE: the only one that matches. FIRST: the first in row order. PRIORITY: the one with the
    highest output value, of equals the first in row order. COLLECT: all that match, in row order.
    """

    UNIQUE = "UNIQUE"
    FIRST = "FIRST"
    PRIORITY = "PRIORITY"
    COLLECT = "COLLECT"


class Range(msgspec.Struct, frozen=True, kw_only=True):
    """Whole numbers from `least` up to but not including `below`; None leaves that end open."""

    least: int | None = None
    below: int | None = None


class Dimension(msgspec.Struct, frozen=True, kw_only=True):
    """What a table asks for: one of `options`, or any whole number from 0 up where none are listed.

    `tell` writes such a number in the reader's units.
    """

    name: str
    options: tuple[str | bool, ...] = ()
    tell: Callable[[int], str] = str


Condition = frozenset[str | bool] | Range
"""The options, or the numbers, that meet a condition."""

Box = Mapping[str, Condition]
"""A part of the input space; a dimension that is not named may take any value."""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One row: it matches where every condition in `when` is met.

    `then` is handed on untouched; `output_value` is what PRIORITY ranks.
    """

    id: str
    when: Box = msgspec.field(default_factory=dict)
    then: object = None
    output_value: str = ""


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """A decision table. `output_values` are those that PRIORITY ranks, the highest first."""

    name: str
    dimensions: tuple[Dimension, ...]
    rows: tuple[Row, ...]
    policy: HitPolicy
    output_values: tuple[str, ...] = ()


def join(words: Sequence[str], last: str) -> str:
    """Return `a, b and c` for the words and the last joint."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def tell_rows(ids: Sequence[str], most: int = 5) -> str:
    """Return `row a`, `rows a and b` or, past `most`, `rows a, b, c, d and 12 more`."""
    if len(ids) == 1:
        return f"row {ids[0]}"
    if len(ids) > most:
        return f"rows {', '.join(ids[: most - 1])} and {len(ids) - most + 1} more"
    return f"rows {join(ids, 'and')}"


def tell_box(dimensions: Iterable[Dimension], box: Box) -> str:
    """Return a box as `covering = slate, clearance from 8 in up`; nothing for the whole space."""
    return ", ".join(
        f"{one.name} {'= ' if one.options else ''}{tell_condition(one, box[one.name])}"
        for one in dimensions
        if one.name in box
    )


def tell_condition(dimension: Dimension, condition: Condition) -> str:
    """Return a condition as `slate or tile`, `true`, or `from 2 in to below 8 in`."""
    if isinstance(condition, Range):
        return _tell_range(dimension, condition)
    inside = [tell_value(dimension, one) for one in dimension.options if one in condition]
    outside = [tell_value(dimension, one) for one in dimension.options if one not in condition]
    if outside and len(inside) > max(3, len(outside)):
        return f"anything but {join(outside, 'or')}"
    return join(inside, "or") or "nothing"


def tell_value(dimension: Dimension, value: object) -> str:
    """Return one value of a dimension as text."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return dimension.tell(value) if isinstance(value, int) else str(value)


def _tell_range(dimension: Dimension, one: Range) -> str:
    least, below = one.least or None, one.below
    if least is None or below is None:
        if below is not None:
            return f"below {tell_value(dimension, below)}"
        return "anything" if least is None else f"from {tell_value(dimension, least)} up"
    start, end = tell_value(dimension, least), tell_value(dimension, below)
    if below - least == 1:
        return f"exactly {start}"
    if start == end:
        start, end = f"{start} ({least})", f"{end} ({below})"
    return f"from {start} to below {end}"
