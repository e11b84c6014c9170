"""Build a rule set from a rule file's plain data: every entry checked, every fault told."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import rfc8785

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build_bill import build_items
from service.rulesets.build_tables import build_tables
from service.rulesets.conditions import build_conditions
from service.rulesets.measure import WANTED, measure
from service.rulesets.reader import Document
from service.rulesets.ruleset import Caution, RuleSet, Tool
from service.rulesets.schema import RuleFile
from service.rulesets.values import Values, kinds
from service.strict import convert, faults, unknown_name

T = TypeVar("T")
_FILLERS: dict[str, Any] = {
    **dict.fromkeys(("title", "change", "approved_by"), "-"),
    **{name: {} for name in ("sources", "values", "tables", "bill", "tools", "cautions")},
    "id": "x",
    "version": "0.0.0",
    "effective": "2000-01-01",
    "status": "draft",
    "units": "imperial",
}
"""What stands in for members of the head that are at fault while the rest is judged."""

_SOURCED = ("values", "bill", "tools", "cautions")


def build(document: Document) -> RuleSet:
    """Return the rule set that a rule file states.

    Raises RuleFileError with every fault of the file, each with its line and column.
    """
    found = [*document.faults, *faults(document.tree, RuleFile)]
    file = _readable(document.tree, found)
    values = _values(file, document.tree, found)
    _check_sources(file, found)
    bill = build_items(file.bill, found)
    tables = build_tables(file.tables, document.tree.get("tables"), found)
    cautions = _cautions(file, found)
    tools = _tools(file, found)
    document.refuse(found)
    assert values is not None
    return RuleSet(
        id=file.id,
        version=file.version,
        effective=file.effective,
        title=file.title,
        units=file.units,
        digest=digest(document.tree),
        values=values,
        bill=bill,
        tools=tools,
        cautions=cautions,
        tables=tables,
        content=document.tree,
    )


def digest(content: Mapping[str, Any]) -> str:
    """Return the `sha256:` digest of a rule set's content in canonical form (RFC 8785)."""
    return f"sha256:{hashlib.sha256(rfc8785.dumps(dict(content))).hexdigest()}"


def _readable(tree: Mapping[str, Any], found: list[Fault]) -> RuleFile:
    """Return the file without the entries at fault, so that the others are judged as well."""
    pruned = {name: dict(part) if isinstance(part, dict) else part for name, part in tree.items()}
    for fault in found:
        _prune(pruned, fault.path[:2])
    return convert({**_FILLERS, **pruned}, RuleFile)


def _prune(tree: Any, path: tuple[str | int, ...]) -> None:  # noqa: ANN401
    for step in path[:-1]:
        tree = tree.get(step) if isinstance(tree, dict) else None
    if isinstance(tree, dict) and path:
        tree.pop(path[-1], None)


def _values(file: RuleFile, tree: Mapping[str, Any], found: list[Fault]) -> Values | None:
    known = kinds()
    read: dict[str, Any] = {}
    for name, entry in file.values.items():
        path = ("values", name)
        if name not in known:
            remedy = unknown_name(name, list(known))
            found.append(Fault(path=path, problem="There is no such value.", remedy=remedy))
            continue
        try:
            read[name] = measure(known[name], entry.value)
        except QuantityError as error:
            found.append(Fault(path=(*path, "value"), problem=str(error)))
    written = tree.get("values")
    if isinstance(written, Mapping):
        problem = "This value is missing."
        missing = {name: kind for name, kind in known.items() if name not in written}
        found.extend(
            Fault(path=("values", name), problem=problem, remedy=WANTED[kind])
            for name, kind in missing.items()
        )
    found.extend(_inconsistent(read))
    return convert_values(read) if len(read) == len(known) else None


def convert_values(read: Mapping[str, Any]) -> Values:
    """Return read values as the struct that the calculation takes."""
    return Values(**read)


def _inconsistent(read: Mapping[str, Any]) -> list[Fault]:
    """Return the faults between values that are each fine alone."""
    checks: tuple[tuple[str, str, Callable[..., bool], str], ...] = (
        ("common_widths", "stocked_widths", lambda a, b: set(a) <= set(b), "List them there too."),
        ("turn_from", "turn_to", lambda a, b: a <= b, "Write the least turn there."),
        ("lap", "piece_length", lambda a, b: a < b, "A lap is shorter than a piece."),
    )
    return [
        Fault(path=("values", name, "value"), problem=f"This does not fit {other}.", remedy=remedy)
        for name, other, fits, remedy in checks
        if name in read and other in read and not fits(read[name], read[other])
    ]


def _check_sources(file: RuleFile, found: list[Fault]) -> None:
    for section in _SOURCED:
        for name, entry in getattr(file, section).items():
            _check_source(file, entry.source, (section, name, "source"), found)
    for table, entry in file.tables.items():
        for row, row_entry in entry.rows.items():
            path = ("tables", table, "rows", row, "source")
            _check_source(file, row_entry.source, path, found)


def _check_source(
    file: RuleFile, source: str, path: tuple[str | int, ...], found: list[Fault]
) -> None:
    if source not in file.sources:
        problem = f"There is no source {source}."
        remedy = unknown_name(source, list(file.sources))
        found.append(Fault(path=path, problem=problem, remedy=remedy))


def _tools(file: RuleFile, found: list[Fault]) -> tuple[Tool, ...]:
    return tuple(
        Tool(
            id=name,
            description=entry.description,
            need=entry.need,
            when=build_conditions(entry.when, ("tools", name, "when"), found),
        )
        for name, entry in file.tools.items()
    )


def _cautions(file: RuleFile, found: list[Fault]) -> tuple[Caution, ...]:
    built = []
    for name, entry in file.cautions.items():
        source = file.sources.get(entry.source)
        cited = source.title if source else entry.source
        built.append(
            Caution(
                id=name,
                severity=entry.severity,
                text=entry.text,
                source=f"{cited}, {entry.clause}" if entry.clause else cited,
                when=build_conditions(entry.when, ("cautions", name, "when"), found),
            )
        )
    return tuple(built)
