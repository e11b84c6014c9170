"""The sections of one version as tables: each entry with what it says and where it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from service.api.rules_pages.cells import Cell, Column, Line, cells, shows_rest
from service.api.rules_pages.columns import columns
from service.api.rules_pages.origins import Place, Was, written
from service.api.rules_pages.rows import row_columns
from service.api.rules_pages.words import heading, in_words
from service.rulesets.overlay import OPTIONAL
from service.rulesets.ruleset import RuleSet


class EntryView(msgspec.Struct, frozen=True, kw_only=True):
    """One entry: its anchor is the path by which traces cite it."""

    anchor: str
    name: str
    code: str
    mark: str
    cells: dict[str, Cell]
    """What it says, by the titles of the columns."""
    place: Place
    was: tuple[Was, ...]
    entry: Any


class Grid(msgspec.Struct, frozen=True, kw_only=True):
    """A section, or a decision table: entries under columns."""

    section: str
    anchor: str
    title: str
    columns: tuple[str, ...]
    entries: tuple[EntryView, ...]
    notes: Cell = ()


_TITLES = {
    "values": "Values",
    "tables": "Decision tables",
    "bill": "Bill of materials",
    "tools": "Tools",
    "zones": "Zones",
    "assumptions": "Assumptions",
    "work": "Work, in time of one person",
    "surcharges": "Surcharges on the time of all tasks",
    "mesh": "Mesh",
    "cautions": "Cautions",
    "examples": "Examples",
    "sources": "Sources",
}
_ORDER = (
    *("values", "tables", "bill", "tools", "zones"),
    *OPTIONAL,
    *("cautions", "examples", "sources"),
)
POLICIES = {
    "UNIQUE": "UNIQUE: for any input one row matches, and no other",
    "FIRST": "FIRST: of the rows that match, the first decides",
    "PRIORITY": "PRIORITY: of the rows that match, the one with the gravest output decides",
    "COLLECT": "COLLECT: every row that matches counts",
}
"""Hit policies in words, in the terms of the DMN standard."""


def grids(rules: RuleSet) -> Iterator[Grid]:
    """Yield the sections of a rule set in reading order, each decision table by itself."""
    for section in sections(rules):
        if section == "tables":
            yield from (_table(name, rules) for name in rules.content["tables"])
        elif rules.content.get(section):
            yield _section(section, rules)


def sections(rules: RuleSet) -> tuple[str, ...]:
    """Return the sections in reading order, those not known here last."""
    held = [name for name, part in rules.content.items() if isinstance(part, Mapping)]
    return tuple(dict.fromkeys((*_ORDER, *held)))


def _section(section: str, rules: RuleSet) -> Grid:
    entries = rules.content[section]
    return _grid((section,), columns(section), entries, rules, section_title(section))


def _table(name: str, rules: RuleSet) -> Grid:
    table = rules.content["tables"][name]
    path = ("tables", name)
    grid = _grid(
        (*path, "rows"),
        row_columns(name, table["rows"]),
        table["rows"],
        rules,
        f"Decision table: {in_words(name)}",
    )
    mark = written((*path, "means"), (), rules).mark
    policy = POLICIES.get(table["hit_policy"], table["hit_policy"])
    notes = (Line(text=table["means"], aside=mark), Line(text=policy, label="Hit policy"))
    return msgspec.structs.replace(grid, anchor=".".join(path), notes=notes)


def _grid(
    path: tuple[str, ...],
    chosen: tuple[Column, ...],
    entries: Mapping[str, Any],
    rules: RuleSet,
    title: str,
) -> Grid:
    rest = shows_rest(chosen, entries)
    views = tuple(
        _entry((*path, name), chosen, entry, rules, rest=rest) for name, entry in entries.items()
    )
    heads = (*(column.title for column in chosen), *(("Also",) if rest else ()))
    return Grid(section=path[0], anchor=path[0], title=title, columns=heads, entries=views)


def _entry(
    path: tuple[str, ...],
    chosen: tuple[Column, ...],
    entry: Any,  # noqa: ANN401
    rules: RuleSet,
    *,
    rest: bool,
) -> EntryView:
    found = written(path, chosen, rules)
    return EntryView(
        anchor=".".join(path),
        name=path[-1] if path[0] == "sources" else heading(path[-1]),
        code=path[-1],
        mark=found.mark,
        cells=cells(chosen, path[-1], entry, rules.content, rest=rest),
        place=found.place,
        was=found.was,
        entry=entry,
    )


def section_title(section: str) -> str:
    """Return the heading of a section."""
    return _TITLES.get(section, heading(section))
