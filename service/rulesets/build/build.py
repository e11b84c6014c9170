"""Build a rule set from a rule file's plain data: every entry checked, every fault told."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any, TypeVar

import rfc8785

from service.errors import Fault
from service.rulesets.build.bill import build_items
from service.rulesets.build.conditions import build_conditions
from service.rulesets.build.quoting import build_assumptions, build_mesh
from service.rulesets.build.tables import build_tables
from service.rulesets.build.values import build_values
from service.rulesets.build.work import build_surcharges, build_work
from service.rulesets.build.zones import build_zones
from service.rulesets.overlay import OPTIONAL
from service.rulesets.resolve import Resolved
from service.rulesets.ruleset import Caution, RuleSet, Tool
from service.rulesets.schema import RuleFile
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

_SOURCED = ("values", "bill", "tools", "cautions", "zones", *OPTIONAL)


def build(resolved: Resolved) -> RuleSet:
    """Return the rule set that a resolved rule file states.

    Raises RuleFileError with every fault, each with its file, line and column.
    """
    content = resolved.content
    found = [*resolved.documents[-1].faults, *faults(content, RuleFile, most=None)]
    file = _readable(content, found)
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
    """Return the `sha256:` digest of a rule set's content in canonical form (RFC 8785).

    The status is left out: withdrawing a version does not make it another one. Canonical JSON
    sorts names, so the order of bill lines, table rows, and tasks and surcharges where there are
    any, which has a meaning, is added.
    """
    lasting = {name: part for name, part in content.items() if name != "status"}
    tables = content.get("tables", {})
    lasting["order"] = {
        "bill": list(content.get("bill", {})),
        "tables": {name: list(table["rows"]) for name, table in tables.items()},
        **{name: list(content[name]) for name in ("work", "surcharges") if name in content},
    }
    return f"sha256:{hashlib.sha256(rfc8785.dumps(lasting)).hexdigest()}"


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


def _check_sources(file: RuleFile, written: object, found: list[Fault]) -> None:
    known = list(written) if isinstance(written, Mapping) else list(file.sources)
    for section in _SOURCED:
        for name, entry in getattr(file, section).items():
            _check_source(known, entry.source, (section, name, "source"), found)
    for table, entry in file.tables.items():
        for row, row_entry in entry.rows.items():
            path = ("tables", table, "rows", row, "source")
            _check_source(known, row_entry.source, path, found)


def _check_source(
    known: list[str], source: str, path: tuple[str | int, ...], found: list[Fault]
) -> None:
    if source not in known:
        problem = f"There is no source {source}."
        remedy = unknown_name(source, known)
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
