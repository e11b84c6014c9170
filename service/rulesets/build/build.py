"""Build a rule set from a rule file's plain data: every entry checked, every fault told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.errors import Fault
from service.rulesets.build.bill import build_items
from service.rulesets.build.conditions import build_conditions
from service.rulesets.build.parts import check_source, without
from service.rulesets.build.quoting import build_assumptions, build_mesh
from service.rulesets.build.tables import build_tables
from service.rulesets.build.values import build_values
from service.rulesets.build.work import build_surcharges, build_work
from service.rulesets.build.zones import build_zones
from service.rulesets.overlay import OPTIONAL
from service.rulesets.resolve import Resolved
from service.rulesets.ruleset import Caution, RuleSet, Tool
from service.rulesets.schema import RuleFile
from service.rulesets.seal import seal
from service.strict import convert, faults

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

RESERVED = ("prices",)
"""Folders beside the rule sets that hold something else."""

_SOURCED = ("values", "bill", "tools", "cautions", "zones", *OPTIONAL)


def build(resolved: Resolved) -> RuleSet:
    """Return the rule set that a resolved rule file states.

    Raises RuleFileError with every fault, each with its file, line and column.
    """
    content = resolved.content
    told = [*resolved.documents[-1].faults, *faults(content, RuleFile, most=None)]
    found = list(dict.fromkeys(told))
    file = _readable(content, found)
    if file.id in RESERVED:
        remedy = "Give the rule set another id."
        found.append(Fault(path=("id",), problem="Price books stand there.", remedy=remedy))
    values = build_values(file, content.get("values"), found)
    _check_sources(file, content.get("sources"), found)
    bill = build_items(file.bill, content.get("bill"), found)
    tables = build_tables(file.tables, content.get("tables"), found)
    zones = build_zones(file, values, bill, found)
    cautions = _cautions(file, found)
    tools = _tools(file, found)
    assumptions = build_assumptions(file.assumptions, found)
    work = build_work(file.work, found)
    surcharges = build_surcharges(file.surcharges, found)
    mesh = build_mesh(file.mesh, content.get("mesh"), values, found)
    resolved.refuse(found)
    assert values is not None
    return RuleSet(
        id=file.id,
        version=file.version,
        effective=file.effective,
        status=file.status,
        title=file.title,
        units=file.units,
        digest=digest(content),
        values=values,
        bill=bill,
        tools=tools,
        cautions=cautions,
        tables=tables,
        zones=zones,
        assumptions=assumptions,
        work=work,
        surcharges=surcharges,
        mesh=mesh,
        examples=file.examples,
        resolved=resolved,
    )


def digest(content: Mapping[str, Any]) -> str:
    """Return the digest of a rule set's content; the order of bill lines and rows belongs to it.

    So does the order of tasks and surcharges, where there are any.
    """
    tables = content.get("tables", {})
    rows = {name: list(table["rows"]) for name, table in tables.items()}
    work = {name: list(content[name]) for name in ("work", "surcharges") if name in content}
    return seal(content, {"bill": list(content.get("bill", {})), "tables": rows, **work})


def _readable(tree: Mapping[str, Any], found: list[Fault]) -> RuleFile:
    """Return the file without the entries at fault, so that the others are judged as well."""
    return convert({**_FILLERS, **without(tree, found)}, RuleFile)


def _check_sources(file: RuleFile, written: object, found: list[Fault]) -> None:
    known = list(written) if isinstance(written, Mapping) else list(file.sources)
    for section in _SOURCED:
        for name, entry in getattr(file, section).items():
            check_source(known, entry.source, (section, name, "source"), found)
    for table, entry in file.tables.items():
        for row, row_entry in entry.rows.items():
            path = ("tables", table, "rows", row, "source")
            check_source(known, row_entry.source, path, found)


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
