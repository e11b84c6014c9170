"""Decision tables, in the terms of the DMN standard: how one is looked up, and said in words.

That a table answers every input is not checked here but by `gapwright.rulesets.proof`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import StrEnum

import msgspec

from gapwright.errors import GapwrightError


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
    """An input of a table: one of `options`, or any whole number from 0 up if there are none.

    `describe` writes such a number in the reader's units.
    """

    name: str
    options: tuple[str | bool, ...] = ()
    describe: Callable[[int], str] = str


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

    @property
    def ranked(self) -> tuple[Row, ...]:
        """Return the rows in order of precedence: where one row decides, the first that matches."""
        if self.policy is not HitPolicy.PRIORITY:
            return self.rows
        return tuple(sorted(self.rows, key=lambda row: self.output_values.index(row.output_value)))


class Hit(msgspec.Struct, frozen=True, kw_only=True):
    """A row that matched, with what it was compared with."""

    row: Row
    inputs: Mapping[str, object]
    dimensions: tuple[Dimension, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """Return why the row matched: each condition with the value that met it."""
        return tuple(
            f"{one.name} is {describe_value(one, self.inputs[one.name])}; "
            f"the row requires {describe_condition(one, self.row.when[one.name])}"
            for one in self.dimensions
            if one.name in self.row.when
        )


def match(table: Table, inputs: Mapping[str, object]) -> tuple[Hit, ...]:
    """Return the rows that decide under the table's hit policy; none where no row matches.

    `inputs` gives each dimension a value: an option, or a whole number.
    Errors: GapwrightError where two rows of a UNIQUE table match, which a proved table never does.
    """
    policy = table.policy
    rows = [row for row in table.ranked if all(meets(inputs[n], c) for n, c in row.when.items())]
    if policy in (HitPolicy.FIRST, HitPolicy.PRIORITY):
        rows = rows[:1]
    if policy is HitPolicy.UNIQUE and len(rows) > 1:
        matched = describe_rows([row.id for row in rows])
        raise GapwrightError(f"table {table.name} is UNIQUE, but {matched} match the same input")
    seen, dimensions = dict(inputs), table.dimensions
    return tuple(Hit(row=row, inputs=seen, dimensions=dimensions) for row in rows)


def meets(value: object, condition: Condition) -> bool:
    """Return whether a value of a dimension meets a condition on it."""
    if isinstance(condition, frozenset):
        return value in condition
    return isinstance(value, int) and (
        (condition.least is None or condition.least <= value)
        and (condition.below is None or value < condition.below)
    )


def join(words: Sequence[str], last: str) -> str:
    """Return `a, b and c` for the words and the last joint."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def describe_rows(ids: Sequence[str], most: int = 5) -> str:
    """Return `row a`, `rows a and b` or, past `most`, `rows a, b, c, d and 12 more`."""
    if len(ids) == 1:
        return f"row {ids[0]}"
    if len(ids) > most:
        return f"rows {', '.join(ids[: most - 1])} and {len(ids) - most + 1} more"
    return f"rows {join(ids, 'and')}"


def describe_box(dimensions: Iterable[Dimension], box: Box) -> str:
    """Return a box as `covering = slate, clearance 8 in or more`; empty for the whole space."""
    return ", ".join(
        f"{one.name} {'= ' if one.options else ''}{describe_condition(one, box[one.name])}"
        for one in dimensions
        if one.name in box
    )


def describe_condition(dimension: Dimension, condition: Condition) -> str:
    """Return a condition as `slate or tile`, `true`, or `from 2 in to less than 8 in`."""
    if isinstance(condition, Range):
        return _describe_range(dimension, condition)
    inside = [describe_value(dimension, one) for one in dimension.options if one in condition]
    outside = [describe_value(dimension, one) for one in dimension.options if one not in condition]
    if outside and len(inside) > max(3, len(outside)):
        return f"anything except {join(outside, 'or')}"
    return join(inside, "or") or "nothing"


def describe_value(dimension: Dimension, value: object) -> str:
    """Return one value of a dimension as text."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return dimension.describe(value) if isinstance(value, int) else str(value)


def _describe_range(dimension: Dimension, one: Range) -> str:
    least, below = one.least or None, one.below
    if least is None or below is None:
        if below is not None:
            return f"less than {describe_value(dimension, below)}"
        return "anything" if least is None else f"{describe_value(dimension, least)} or more"
    start, end = describe_value(dimension, least), describe_value(dimension, below)
    if below - least == 1:
        return f"exactly {start}"
    if start == end:
        start, end = f"{start} ({least})", f"{end} ({below})"
    return f"from {start} to less than {end}"
