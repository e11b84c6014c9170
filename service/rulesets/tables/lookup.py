"""Look up a decision table: the rows that decide, each with the conditions that it met.

That a table answers every input is not checked here but by `service.rulesets.tables.proof`.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from service.errors import GapwrightError
from service.rulesets.tables.model import Condition, Dimension, HitPolicy, Range, Row, Table
from service.rulesets.tables.words import tell_condition, tell_rows, tell_value


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
            f"{dimension.name} is {tell_value(dimension, self.inputs[dimension.name])}; "
            f"the row asks for {tell_condition(dimension, self.row.when[dimension.name])}"
            for dimension in self.dimensions
            if dimension.name in self.row.when
        )


def compile_table(table: Table) -> CompiledTable:
    """Return the table ready to be looked up and proved.

    Limits: names, options and output values are taken as checked by whoever built the table.
    """
    rows = table.rows
    if table.policy is HitPolicy.PRIORITY:
        rank = {value: place for place, value in enumerate(table.output_values)}
        rows = tuple(sorted(rows, key=lambda row: rank[str(row.ranked)]))
    return CompiledTable(table=table, rows=rows)


def match(table: CompiledTable, inputs: Mapping[str, object]) -> tuple[Hit, ...]:
    """Return the rows that decide under the table's hit policy; none where no row matches.

    Rows are examined in order of precedence, up to the one that decides under FIRST and PRIORITY.
    `inputs` gives each dimension a value: an option, a boolean, a whole number.
    Errors: GapwrightError where two rows of a UNIQUE table match, which a proved table never does.
    """
    seen = dict(inputs)
    policy = table.table.policy
    hits: list[Hit] = []
    for row in table.rows:
        if all(meets(seen[name], condition) for name, condition in row.when.items()):
            hits.append(Hit(row=row, inputs=seen, dimensions=table.table.dimensions))
            if policy in (HitPolicy.FIRST, HitPolicy.PRIORITY):
                break
    if policy is HitPolicy.UNIQUE and len(hits) > 1:
        rows = tell_rows([hit.row.id for hit in hits])
        raise GapwrightError(f"table {table.table.name} is UNIQUE, but {rows} match the same input")
    return tuple(hits)


def meets(value: object, condition: Condition) -> bool:
    """Return whether a value of a dimension meets a condition on it."""
    if isinstance(condition, tuple):
        return isinstance(value, int) and any(_within(value, part) for part in condition)
    return value is condition if isinstance(condition, bool) else value in condition


def _within(value: int, part: Range) -> bool:
    return (part.least is None or part.least <= value) and (
        part.below is None or value < part.below
    )
