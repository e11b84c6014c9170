"""Build the decision tables of a rule set from a rule file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.errors import Fault
from service.quantity.kinds import shown
from service.quantity.parse import QuantityError
from service.quantity.show import short
from service.rulesets.build.conditions import check_fact
from service.rulesets.build.measure import length
from service.rulesets.schema import RangeEntry, RowEntry, TableEntry
from service.rulesets.tables.lookup import CompiledTable, compile_table
from service.rulesets.tables.model import (
    Choice,
    Condition,
    Dimension,
    Flag,
    HitPolicy,
    Range,
    Row,
    Span,
    Table,
)
from service.rulesets.tables.proof import Finding, Kind, prove
from service.rulesets.vocabulary import CHOICES, LENGTHS, TABLES, TableShape
from service.strict import unknown_name

Path = tuple[str | int, ...]


def build_tables(
    entries: Mapping[str, TableEntry], written: object, found: list[Fault]
) -> dict[str, CompiledTable]:
    """Return the tables by name, each proved complete and free of dead rows.

    Faults are added to `found`. `written` is the section as it stands, in which entries at fault
    have not been dropped.
    """
    built: dict[str, CompiledTable] = {}
    for name, entry in entries.items():
        path: Path = ("tables", name)
        shape = TABLES.get(name)
        if shape is None:
            remedy = unknown_name(name, list(TABLES))
            found.append(Fault(path=path, problem="There is no such table.", remedy=remedy))
            continue
        faults: list[Fault] = []
        table = _table(name, entry, shape, path, faults)
        if not faults and _whole(entry, written, name):
            built[name] = compile_table(table)
            faults.extend(_proof_faults(built[name], path))
        found.extend(faults)
    if isinstance(written, Mapping):
        missing = [name for name in TABLES if name not in written]
        problem = "This table is missing."
        found.extend(Fault(path=("tables", n), problem=problem, remedy="Add it.") for n in missing)
    return built


def _whole(entry: TableEntry, written: object, name: str) -> bool:
    """Return whether no row of a table was dropped for faults that are told already."""
    raw: Any = written
    return len(raw[name]["rows"]) == len(entry.rows)


def _table(
    name: str, entry: TableEntry, shape: TableShape, path: Path, found: list[Fault]
) -> Table:
    if entry.hit_policy not in shape.hit_policies:
        remedy = f"Write {' or '.join(shape.hit_policies)}."
        problem = f"This table cannot be {entry.hit_policy}."
        found.append(Fault(path=(*path, "hit_policy"), problem=problem, remedy=remedy))
    rows = tuple(
        _row(row, row_entry, shape, (*path, "rows", row), found)
        for row, row_entry in entry.rows.items()
    )
    return Table(
        name=name,
        dimensions=tuple(_dimension(one) for one in shape.inputs),
        rows=rows,
        policy=HitPolicy(entry.hit_policy),
        output_values=shape.outputs[shape.ranked],
    )


def _dimension(name: str) -> Dimension:
    if name in CHOICES:
        return Choice(name=name, options=CHOICES[name])
    if name in LENGTHS:
        return Span(name=name, least=0, tell=lambda nm: short(nm, "imperial", "down").text)
    return Flag(name=name)


def _proof_faults(table: CompiledTable, path: Path) -> list[Fault]:
    """Return what keeps a table from being proved complete and free of dead rows."""
    proof = prove(table)
    faults = [
        Fault(
            path=_where(finding, path),
            problem=_sentence(finding.text),
            remedy="Let its rows name fewer thresholds, or use fewer rows."
            if finding.kind is Kind.TOO_LARGE
            else "Add a row for it, widen one, or narrow the rows that overlap.",
        )
        for finding in proof.findings
    ]
    if proof.more_gaps or proof.more_overlaps:
        faults.append(Fault(path=path, problem="There are more findings than these."))
    return faults


def _where(finding: Finding, path: Path) -> Path:
    return (*path, "rows", finding.rows[-1]) if finding.rows else path


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _row(id_: str, entry: RowEntry, shape: TableShape, path: Path, found: list[Fault]) -> Row:
    when: dict[str, Condition] = {}
    for name, condition in entry.when.items():
        here = (*path, "when", name)
        if name not in shape.inputs:
            remedy = unknown_name(name, list(shape.inputs))
            problem = f"This table does not ask for {name}."
            found.append(Fault(path=here, problem=problem, remedy=remedy))
        elif name in LENGTHS:
            when[name] = (_range(condition, here, found),)
        else:
            options = _options(name, condition, here, found)
            if name in CHOICES:
                when[name] = options
            elif len(options) == 1:
                when[name] = bool(next(iter(options)))
    _check_outputs(entry.then, shape, (*path, "then"), found)
    ranked = entry.then.get(shape.ranked, "")
    return Row(id=id_, when=when, then=entry.then, output_value=ranked)


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
        return Range()
    ends: list[int | None] = []
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
    return Range(least=least, below=below)


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
