"""Decision tables: compiled once, then looked up.

A table answers with rows, and each row with the conditions it met and the values compared.
Completeness is not checked here but by `service.rulesets.proof`.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from service.errors import BadInputError, GapwrightError
from service.rulesets.tables.cells import Column, column_of
from service.rulesets.tables.check import table_faults
from service.rulesets.tables.inputs import input_faults
from service.rulesets.tables.model import Dimension, HitPolicy, Row, Table
from service.rulesets.tables.words import tell_condition, tell_rows, tell_value


class CompiledTable(msgspec.Struct, frozen=True, kw_only=True):
    """A table ready to be looked up and proved.

    `rows` stand in order of precedence: row order, but by output value first under PRIORITY. Of the
    rows that match, the first decides wherever one row decides. `whole` is the set of all rows.
    """

    table: Table
    rows: tuple[Row, ...]
    columns: tuple[Column, ...]
    whole: int


class Reason(msgspec.Struct, frozen=True, kw_only=True):
    """One condition that was met, and the value that was compared with it."""

    dimension: str
    value: object
    told: str
    asked: str

    @property
    def text(self) -> str:
        """Return the comparison as a sentence part."""
        return f"{self.dimension} is {self.told}; the row asks for {self.asked}"


class Hit(msgspec.Struct, frozen=True, kw_only=True):
    """A row that matched, with what it was compared with."""

    row: Row
    inputs: Mapping[str, object]
    dimensions: tuple[Dimension, ...]

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Return why the row matched: its conditions, in the order of the dimensions."""
        return tuple(
            Reason(
                dimension=dimension.name,
                value=self.inputs[dimension.name],
                told=tell_value(dimension, self.inputs[dimension.name]),
                asked=tell_condition(dimension, self.row.when[dimension.name]),
            )
            for dimension in self.dimensions
            if dimension.name in self.row.when
        )


def compile_table(table: Table) -> CompiledTable:
    """Return the table ready for use.

    Errors: BadInputError with every fault in the table.
    """
    if faults := table_faults(table):
        raise BadInputError(faults)
    rows = table.rows
    if table.policy is HitPolicy.PRIORITY:
        rank = {value: place for place, value in enumerate(table.output_values)}
        rows = tuple(sorted(rows, key=lambda row: rank[str(row.ranked)]))
    columns = tuple(column_of(dimension, rows) for dimension in table.dimensions)
    whole = (1 << len(rows)) - 1
    return CompiledTable(table=table, rows=rows, columns=columns, whole=whole)


def match(table: CompiledTable, inputs: Mapping[str, object]) -> tuple[Hit, ...]:
    """Return the rows that decide under the table's hit policy; none where no row matches.

    Under COLLECT they stand in row order. `inputs` gives each dimension a value: an option, a
    boolean, a whole number.
    Errors: BadInputError with every fault in the inputs; GapwrightError where two rows of a UNIQUE
    table match, which a proved table never does.
    """
    met = rows_met(table, inputs)
    if table.table.policy is HitPolicy.UNIQUE and met & (met - 1):
        ids = [hit.row.id for hit in _hits(table, met, inputs)]
        message = f"table {table.table.name} is UNIQUE, but {tell_rows(ids)} match the same input"
        raise GapwrightError(message)
    if table.table.policy is not HitPolicy.COLLECT:
        met &= -met
    return _hits(table, met, inputs)


def candidates(table: CompiledTable, inputs: Mapping[str, object]) -> tuple[Hit, ...]:
    """Return every row that matches, in order of precedence, whatever the hit policy.

    Errors: BadInputError with every fault in the inputs.
    """
    return _hits(table, rows_met(table, inputs), inputs)


def rows_met(table: CompiledTable, inputs: Mapping[str, object]) -> int:
    """Return the set of rows whose conditions the inputs meet, one bit a row."""
    met = table.whole
    known = len(inputs) == len(table.columns)
    for column in table.columns:
        rows = column.rows_of(inputs.get(column.name))
        if rows is None:
            known = False
            break
        met &= rows
    if not known:
        raise BadInputError(input_faults(table.table.dimensions, inputs))
    return met


def _hits(table: CompiledTable, met: int, inputs: Mapping[str, object]) -> tuple[Hit, ...]:
    seen = dict(inputs)
    hits = []
    while met:
        row = table.rows[(met & -met).bit_length() - 1]
        hits.append(Hit(row=row, inputs=seen, dimensions=table.table.dimensions))
        met &= met - 1
    return tuple(hits)
