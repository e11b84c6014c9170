"""What is wrong with a table: every fault at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from service.errors import Fault
from service.rulesets.tables.model import Choice, Dimension, Flag, HitPolicy, Range, Row, Table
from service.rulesets.tables.names import repeated, unknown
from service.rulesets.tables.words import join


def table_faults(table: Table) -> list[Fault]:
    """Return everything that keeps a table from being used.

    Paths start at the table: a row's id, `when` and the dimension; a row's id and `then`;
    `dimensions` and a name; or `output_values`.
    """
    return [*_dimension_faults(table), *_output_faults(table), *_row_faults(table)]


def _dimension_faults(table: Table) -> Iterator[Fault]:
    for name in repeated(dimension.name for dimension in table.dimensions):
        yield _fault("dimensions", name, problem="Two dimensions have this name.")
    for dimension in table.dimensions:
        if problem := _domain_problem(dimension):
            yield _fault("dimensions", dimension.name, problem=problem)


def _domain_problem(dimension: Dimension) -> str:
    if isinstance(dimension, Choice):
        twice = repeated(dimension.options)
        return f"It lists {join(twice, 'and')} twice." if twice else _none_of(dimension.options)
    if isinstance(dimension, Flag) or dimension.least is None or dimension.below is None:
        return ""
    return _none_of(range(dimension.least, dimension.below))


def _none_of(values: tuple[str, ...] | range) -> str:
    return "" if values else "It has no value at all."


def _output_faults(table: Table) -> Iterator[Fault]:
    if table.policy is HitPolicy.PRIORITY and not table.output_values:
        yield _fault(
            "output_values",
            problem="PRIORITY ranks rows by their output values, and none are listed.",
            remedy="List them, highest priority first.",
        )
    for value in repeated(table.output_values):
        yield _fault("output_values", problem=f"{value!r} is listed twice.")


def _row_faults(table: Table) -> Iterator[Fault]:
    for name in repeated(row.id for row in table.rows):
        yield _fault(name, problem="Two rows have this id.", remedy="Give each row its own.")
    known = {dimension.name: dimension for dimension in table.dimensions}
    for row in table.rows:
        if table.output_values and row.ranked not in table.output_values:
            yield unknown((row.id, "then"), "output value", str(row.ranked), table.output_values)
        for name in row.when:
            yield from _condition_faults(row, name, known)


def _condition_faults(row: Row, name: str, known: Mapping[str, Dimension]) -> Iterator[Fault]:
    path = (row.id, "when", name)
    dimension = known.get(name)
    if dimension is None:
        yield unknown(path, "dimension", name, known)
    elif problem := _misfit(dimension, row.when[name]):
        yield _fault(*path, problem="This condition does not fit it.", remedy=problem)
    elif isinstance(dimension, Choice):
        options = {str(option) for option in _options(row.when[name])}
        for option in sorted(options - set(dimension.options)):
            yield unknown(path, "option", option, dimension.options)


def _misfit(dimension: Dimension, condition: object) -> str:
    if isinstance(dimension, Choice):
        fits, wanted = isinstance(condition, frozenset), "a set of options"
    elif isinstance(dimension, Flag):
        fits, wanted = isinstance(condition, bool), "true or false"
    else:
        fits, wanted = _are_ranges(condition), "ranges of whole numbers"
    return "" if fits else f"Give {wanted}."


def _options(condition: object) -> frozenset[object]:
    return condition if isinstance(condition, frozenset) else frozenset()


def _are_ranges(condition: object) -> bool:
    return isinstance(condition, tuple) and all(
        isinstance(one, Range) and _is_end(one.least) and _is_end(one.below) for one in condition
    )


def _is_end(end: object) -> bool:
    return end is None or type(end) is int


def _fault(*path: str, problem: str, remedy: str = "") -> Fault:
    return Fault(path=path, problem=problem, remedy=remedy)
