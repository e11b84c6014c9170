"""Build the decision tables of a rule set from a rule file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gapwright.quantity.kinds import shown
from gapwright.quantity.show import short
from gapwright.rulesets.build.conditions import check_fact
from gapwright.rulesets.measure import Faults, Measure, Path
from gapwright.rulesets.proof import prove
from gapwright.rulesets.schema import RangeEntry, RowEntry, TableEntry
from gapwright.rulesets.tables import Condition, Dimension, HitPolicy, Range, Row, Table
from gapwright.rulesets.vocabulary import CHOICES, LENGTHS, TABLES, TableShape

_LENGTH = Measure("length")


def build_tables(entries: Mapping[str, TableEntry], faults: Faults) -> dict[str, Table]:
    """Return the tables by name, each proved complete and free of dead rows."""
    built: dict[str, Table] = {}
    for name, entry in entries.items():
        if name not in TABLES:
            continue
        path: Path = ("tables", name)
        before = len(faults)
        table = _table(name, entry, TABLES[name], path, faults)
        if len(faults) == before:
            built[name] = table
            _check_proof(built[name], path, faults)
    return built


def _table(name: str, entry: TableEntry, shape: TableShape, path: Path, faults: Faults) -> Table:
    if entry.hit_policy not in shape.hit_policies:
        problem = f"This table cannot be {entry.hit_policy}."
        faults.add((*path, "hit_policy"), problem, f"Write {' or '.join(shape.hit_policies)}.")
    return Table(
        name=name,
        dimensions=tuple(_dimension(one) for one in shape.inputs),
        rows=tuple(
            _row(row, row_entry, shape, (*path, "rows", row), faults)
            for row, row_entry in entry.rows.items()
        ),
        policy=HitPolicy(entry.hit_policy),
        output_values=shape.outputs[shape.ranked],
    )


def _dimension(name: str) -> Dimension:
    if name in LENGTHS:
        return Dimension(name=name, describe=lambda nm: short(nm, "imperial", "down").text)
    return Dimension(name=name, options=CHOICES.get(name, (False, True)))


def _check_proof(table: Table, path: Path, faults: Faults) -> None:
    """Add what keeps a table from being proved complete and free of dead rows."""
    for finding in prove(table):
        remedy = "Add a row for it, widen one, or narrow the rows that overlap."
        if finding.kind == "too large":
            remedy = "Let its rows name fewer thresholds, or use fewer rows."
        elif finding.kind == "more":
            remedy = ""
        where = (*path, "rows", finding.rows[-1]) if finding.rows else path
        faults.add(where, f"{finding.text[0].upper()}{finding.text[1:]}.", remedy)


def _row(id_: str, entry: RowEntry, shape: TableShape, path: Path, faults: Faults) -> Row:
    when: dict[str, Condition] = {}
    for name, condition in entry.when.items():
        here = (*path, "when", name)
        if name not in shape.inputs:
            problem = f"This table does not ask for {name}."
            faults.add_unknown(here, problem, name, shape.inputs)
        elif name in LENGTHS:
            when[name] = _range(condition, here, faults)
        else:
            when[name] = _options(name, condition, here, faults)
    _check_outputs(entry.then, shape, (*path, "then"), faults)
    ranked = entry.then.get(shape.ranked, "")
    return Row(id=id_, when=when, then=entry.then, output_value=ranked)


def _options(name: str, condition: object, path: Path, faults: Faults) -> frozenset[Any]:
    if isinstance(condition, RangeEntry):
        faults.add(path, f"{name} is no quantity, so it has no range.", "List its options.")
        return frozenset()
    options = condition if isinstance(condition, list) else [condition]
    check_fact(name, options, path, faults)
    return frozenset(options)


def _range(condition: object, path: Path, faults: Faults) -> Range:
    if not isinstance(condition, RangeEntry):
        problem = f"Found {shown(condition)} where a range must stand."
        faults.add(path, problem, "Write {from: 2 in, below: 8 in}, or one of the two.")
        return Range()
    least, below = (
        None if text is None else faults.read((*path, end), _LENGTH.read, text, None)
        for end, text in (("at_least", condition.at_least), ("below", condition.below))
    )
    if least is not None and below is not None and least >= below:
        problem = "Nothing is from there and below that."
        faults.add(path, problem, "Write the smaller one under from.")
    return Range(least=least, below=below)


def _check_outputs(then: Mapping[str, str], shape: TableShape, path: Path, faults: Faults) -> None:
    for name, text in then.items():
        words = shape.outputs.get(name)
        if words is None:
            faults.add_unknown(
                (*path, name), "The table does not say this.", name, list(shape.outputs)
            )
        elif words and text not in words:
            faults.add_unknown((*path, name), f"Found {shown(text)}.", text, words)
    for name in shape.outputs:
        if name not in then and name not in shape.optional:
            faults.add((*path, name), "This is missing.", f"Say the {name}.")
