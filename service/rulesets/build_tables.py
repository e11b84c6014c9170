"""Build the decision tables of a rule set from a rule file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.errors import Fault
from service.quantity.kinds import shown
from service.quantity.parse import QuantityError
from service.rulesets.conditions import check_fact
from service.rulesets.measure import length
from service.rulesets.schema import RangeEntry, RowEntry, TableEntry
from service.rulesets.tables import Range, Row, Table
from service.rulesets.vocabulary import LENGTHS, TABLES, TableShape
from service.strict import unknown_name

Path = tuple[str | int, ...]


def build_tables(
    entries: Mapping[str, TableEntry], written: object, found: list[Fault]
) -> dict[str, Table]:
    """Return the tables by name; faults are added to `found`.

    `written` is the file's section as it stands, in which entries at fault have not been dropped.
    """
    built = {}
    for name, entry in entries.items():
        shape = TABLES.get(name)
        if shape is None:
            remedy = unknown_name(name, list(TABLES))
            found.append(
                Fault(path=("tables", name), problem="There is no such table.", remedy=remedy)
            )
            continue
        rows = tuple(
            _row(row, row_entry, shape, ("tables", name, "rows", row), found)
            for row, row_entry in entry.rows.items()
        )
        built[name] = Table(id=name, hit_policy=entry.hit_policy, rows=rows)
    if isinstance(written, Mapping):
        missing = [name for name in TABLES if name not in written]
        problem = "This table is missing."
        found.extend(Fault(path=("tables", n), problem=problem, remedy="Add it.") for n in missing)
    return built


def _row(id_: str, entry: RowEntry, shape: TableShape, path: Path, found: list[Fault]) -> Row:
    options: list[tuple[str, frozenset[Any]]] = []
    ranges: list[tuple[str, Range]] = []
    for name, condition in entry.when.items():
        here = (*path, "when", name)
        if name not in shape.inputs:
            remedy = unknown_name(name, list(shape.inputs))
            problem = f"This table does not ask for {name}."
            found.append(Fault(path=here, problem=problem, remedy=remedy))
        elif name in LENGTHS:
            ranges.append((name, _range(condition, here, found)))
        else:
            options.append((name, _options(name, condition, here, found)))
    _check_outputs(entry.then, shape, (*path, "then"), found)
    return Row(id=id_, options=tuple(options), ranges=tuple(ranges), then=entry.then)


def _options(name: str, condition: object, path: Path, found: list[Fault]) -> frozenset[Any]:
    if isinstance(condition, RangeEntry):
        problem = f"{name} is no quantity, so it has no range."
        found.append(Fault(path=path, problem=problem, remedy="List its options."))
        return frozenset()
    options = condition if isinstance(condition, list) else [condition]
    found.extend(check_fact(name, options, path))
    return frozenset(options)


def _range(condition: object, path: Path, found: list[Fault]) -> Range:
    if not isinstance(condition, RangeEntry):
        problem = f"Found {shown(condition)} where a range must stand."
        remedy = "Write {from: 2 in, below: 8 in}, or one of the two."
        found.append(Fault(path=path, problem=problem, remedy=remedy))
        return None, None
    ends = []
    for end, text in (("from", condition.from_), ("below", condition.below)):
        try:
            ends.append(None if text is None else length(text))
        except QuantityError as error:
            found.append(Fault(path=(*path, end), problem=str(error)))
            ends.append(None)
    least, below = ends
    if least is not None and below is not None and least >= below:
        problem = "Nothing is from there and below that."
        found.append(Fault(path=path, problem=problem, remedy="Write the smaller one under from."))
    return least, below


def _check_outputs(
    then: Mapping[str, str], shape: TableShape, path: Path, found: list[Fault]
) -> None:
    for name, text in then.items():
        words = shape.outputs.get(name)
        if words is None:
            remedy = unknown_name(name, list(shape.outputs))
            found.append(
                Fault(path=(*path, name), problem="The table does not say this.", remedy=remedy)
            )
        elif words and text not in words:
            remedy = unknown_name(text, list(words))
            found.append(Fault(path=(*path, name), problem=f"Found {shown(text)}.", remedy=remedy))
    found.extend(
        Fault(path=(*path, name), problem="This is missing.", remedy=f"Say the {name}.")
        for name in shape.outputs
        if name not in then and name not in shape.optional
    )
