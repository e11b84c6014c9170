"""Build a rule set from a rule file's plain data: with every fault reported."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from gapwright.rulesets.build.bill import build_items, build_labor_factors, build_work
from gapwright.rulesets.build.conditions import build_conditions
from gapwright.rulesets.build.tables import build_tables
from gapwright.rulesets.build.values import (
    build_assumptions,
    build_mesh,
    build_values,
    build_zones,
    check_names,
)
from gapwright.rulesets.kind import HEAD, Kind, check_sources
from gapwright.rulesets.measure import Faults, Path
from gapwright.rulesets.overlay import OPTIONAL, RULES, rule_change_faults
from gapwright.rulesets.resolve import Resolved
from gapwright.rulesets.ruleset import Caution, RuleSet, Tool
from gapwright.rulesets.schema import OverlayFile, RuleFile

RESERVED = ("prices",)
"""Names of folders next to the rule sets that contain something else."""

_SOURCED = ("values", "bill", "tools", "cautions", "zones", *OPTIONAL)


def build(resolved: Resolved) -> RuleSet:
    """Return the rule set of a resolved rule file.

    Raises RuleFileError with every fault, each with its file, line and column.
    """
    content = resolved.content
    faults = Faults(resolved.documents[-1].faults)
    file: RuleFile = RULE_SETS.read(content, faults)
    if file.id in RESERVED:
        problem = "This is the name of the price book folder."
        faults.add(("id",), problem, "Give the rule set another id.")
    check_names(content, faults)
    values = build_values(file.values, faults)
    check_sources(content, _cited(file), faults)
    bill = build_items(file.bill, content.get("bill"), faults)
    built: dict[str, Any] = {
        "tables": build_tables(file.tables, faults),
        "zones": build_zones(file, values, bill, faults),
        "cautions": _cautions(file, faults),
        "tools": _tools(file, faults),
        "assumptions": build_assumptions(file.assumptions, faults),
        "work": build_work(file.work, faults),
        "labor_factors": build_labor_factors(file.labor_factors, faults),
        "mesh": build_mesh(file.mesh, values, faults),
    }
    resolved.refuse(faults)
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
        examples=file.examples,
        resolved=resolved,
        **built,
    )


RULE_SETS: Kind[RuleSet] = Kind(
    noun="rule set",
    whole=RuleFile,
    change=OverlayFile,
    shape=RULES,
    fillers={
        **HEAD,
        **{name: {} for name in ("sources", "values", "tables", "bill", "tools", "cautions")},
        "units": "imperial",
    },
    change_faults=rule_change_faults,
    build=build,
)
"""Files of rule sets."""

digest = RULE_SETS.digest


def _cited(file: RuleFile) -> Iterator[tuple[Path, str]]:
    """Yield the path of each entry with a source, and the source."""
    for section in _SOURCED:
        for name, entry in getattr(file, section).items():
            yield (section, name), entry.source
    for table, table_entry in file.tables.items():
        for row, row_entry in table_entry.rows.items():
            yield ("tables", table, "rows", row), row_entry.source


def _tools(file: RuleFile, faults: Faults) -> tuple[Tool, ...]:
    return tuple(
        Tool(
            id=name,
            description=entry.description,
            need=entry.need,
            when=build_conditions(entry.when, ("tools", name, "when"), faults),
        )
        for name, entry in file.tools.items()
    )


def _cautions(file: RuleFile, faults: Faults) -> tuple[Caution, ...]:
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
                when=build_conditions(entry.when, ("cautions", name, "when"), faults),
            )
        )
    return tuple(built)
