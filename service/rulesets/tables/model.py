"""What a decision table is made of: dimensions, rows, a hit policy.

The terms are those of the DMN standard (OMG, Decision Model and Notation 1.x) where it has one.
Quantities are whole numbers here; only a span's `tell` knows their unit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum

import msgspec


class HitPolicy(StrEnum):
    """Which of the rows that match decide.

    UNIQUE: no two rows match the same input. FIRST: the first that matches, in row order.
    PRIORITY: the one whose output value stands first in the table's `output_values`; of equals
    the first in row order. COLLECT: all that match, in row order.
    """

    UNIQUE = "UNIQUE"
    FIRST = "FIRST"
    PRIORITY = "PRIORITY"
    COLLECT = "COLLECT"


class Range(msgspec.Struct, frozen=True, kw_only=True):
    """Whole numbers from `least` up to but not including `below`; None leaves that end open."""

    least: int | None = None
    below: int | None = None


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """A dimension that takes one of a fixed set of options."""

    name: str
    options: tuple[str, ...]


class Flag(msgspec.Struct, frozen=True, kw_only=True):
    """A dimension that is false or true."""

    name: str


class Span(msgspec.Struct, frozen=True, kw_only=True):
    """A dimension of whole numbers from `least` up to but not including `below`.

    None leaves that end open. `tell` writes a number in the reader's units.
    """

    name: str
    least: int | None = None
    below: int | None = None
    tell: Callable[[int], str] = str


Dimension = Choice | Flag | Span

Condition = frozenset[str] | bool | tuple[Range, ...]
"""Options of a choice, the state of a flag, or the ranges of a span."""

Box = Mapping[str, Condition]
"""A part of the input space; a dimension that is not named may take any value."""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One row: it matches where every condition in `when` is met.

    `then` is handed on untouched. `output_value` is what PRIORITY ranks; left out, it is `then`
    itself.
    """

    id: str
    when: Box = msgspec.field(default_factory=dict)
    then: object = None
    output_value: str | None = None

    @property
    def ranked(self) -> object:
        """Return what PRIORITY looks up in the table's output values."""
        return self.then if self.output_value is None else self.output_value


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """A decision table.

    `output_values` lists the allowed output values, highest priority first; PRIORITY needs it, and
    any table that has it holds its rows to it.
    """

    name: str
    dimensions: tuple[Dimension, ...]
    rows: tuple[Row, ...]
    policy: HitPolicy
    output_values: tuple[str, ...] = ()
