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
    """Return the tables by name, each proved complete and without dead rows."""
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
        problem = f"The hit policy of this table cannot be {entry.hit_policy}."
        remedy = f"Expected {' or '.join(shape.hit_policies)}."
        faults.add((*path, "hit_policy"), problem, remedy)
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
    """Add a fault for each gap, overlap, and dead row of a table."""
    for finding in prove(table):
        remedy = "Add a row for it, widen one, or narrow the rows that overlap."
        if finding.kind == "too large":
            remedy = "Use fewer thresholds or fewer rows."
        elif finding.kind == "more":
            remedy = ""
        where = (*path, "rows", finding.rows[-1]) if finding.rows else path
        faults.add(where, f"{finding.text[0].upper()}{finding.text[1:]}.", remedy)


def _row(id_: str, entry: RowEntry, shape: TableShape, path: Path, faults: Faults) -> Row:
    when: dict[str, Condition] = {}
    for name, condition in entry.when.items():
        here = (*path, "when", name)
        if name not in shape.inputs:
            problem = f"Unknown input '{name}' for this table."
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
        faults.add(path, f"{name} is not a quantity, so it has no range.", "List its options.")
        return frozenset()
    options = condition if isinstance(condition, list) else [condition]
    check_fact(name, options, path, faults)
    return frozenset(options)


def _range(condition: object, path: Path, faults: Faults) -> Range:
    if not isinstance(condition, RangeEntry):
        problem = f"Expected a range; got {shown(condition)}."
        faults.add(path, problem, "Write {at_least: 2 in, below: 8 in}, or one of the two.")
        return Range()
    least, below = (
        None if text is None else faults.read((*path, end), _LENGTH.read, text, None)
        for end, text in (("at_least", condition.at_least), ("below", condition.below))
    )
    if least is not None and below is not None and least >= below:
        problem = "The range is empty."
        faults.add(path, problem, "at_least must be less than below.")
    return Range(least=least, below=below)


def _check_outputs(then: Mapping[str, str], shape: TableShape, path: Path, faults: Faults) -> None:
    for name, text in then.items():
        words = shape.outputs.get(name)
        if words is None:
            faults.add_unknown(
                (*path, name), f"Unknown output '{name}' of this table.", name, list(shape.outputs)
            )
        elif words and text not in words:
            problem = f"Unknown {name} {shown(text)}."
            faults.add_unknown((*path, name), problem, text, words)
    for name in shape.outputs:
        if name not in then and name not in shape.optional:
            faults.add((*path, name), "This required field is missing.", f"Add the {name}.")
