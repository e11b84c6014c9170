"""Look up a decision table: the rows that decide, each with the conditions that it met.

That a table answers every input is not checked here but by `service.rulesets.tables.proof`.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from service.errors import GapwrightError
from service.rulesets.tables.model import (
    Condition,
    Dimension,
    HitPolicy,
    Row,
    Table,
    tell_condition,
    tell_rows,
    tell_value,
)


class CompiledTable(msgspec.Struct, frozen=True, kw_only=True):
    """A table with its `rows` in order of precedence.

    That is row order, but by output value first under PRIORITY. Of the rows that match, the first
    decides wherever one row decides.
    """

    table: Table
    rows: tuple[Row, ...]


class Hit(msgspec.Struct, frozen=True, kw_only=True):
    """A row that matched, with what it was compared with."""

    row: Row
    inputs: Mapping[str, object]
    dimensions: tuple[Dimension, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """Return why the row matched: each condition with the value that met it."""
        return tuple(
            f"{one.name} is {tell_value(one, self.inputs[one.name])}; "
            f"the row asks for {tell_condition(one, self.row.when[one.name])}"
            for one in self.dimensions
            if one.name in self.row.when
        )


def compile_table(table: Table) -> CompiledTable:
    """Return the table ready to be looked up and proved.

    Limits: names, options and output values are taken as checked by whoever built the table.
    """
    rows = table.rows
    if table.policy is HitPolicy.PRIORITY:
        rows = tuple(sorted(rows, key=lambda row: table.output_values.index(row.output_value)))
    return CompiledTable(table=table, rows=rows)


def match(table: CompiledTable, inputs: Mapping[str, object]) -> tuple[Hit, ...]:
    """Return the rows that decide under the table's hit policy; none where no row matches.

    `inputs` gives each dimension a value: an option, or a whole number.
    Errors: GapwrightError where two rows of a UNIQUE table match, which a proved table never does.
    """
    policy = table.table.policy
    rows = [row for row in table.rows if all(meets(inputs[n], c) for n, c in row.when.items())]
    if policy in (HitPolicy.FIRST, HitPolicy.PRIORITY):
        rows = rows[:1]
    if policy is HitPolicy.UNIQUE and len(rows) > 1:
        told = tell_rows([row.id for row in rows])
        raise GapwrightError(f"table {table.table.name} is UNIQUE, but {told} match the same input")
    seen, dimensions = dict(inputs), table.table.dimensions
    return tuple(Hit(row=row, inputs=seen, dimensions=dimensions) for row in rows)


def meets(value: object, condition: Condition) -> bool:
    """Return whether a value of a dimension meets a condition on it."""
    if isinstance(condition, frozenset):
        return value in condition
    return isinstance(value, int) and (
        (condition.least is None or condition.least <= value)
        and (condition.below is None or value < condition.below)
    )
