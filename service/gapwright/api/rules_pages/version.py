"""One version of a rule set as a page shows it: each entry, and where it was written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from gapwright.api.rules_pages.entries import Cell, Line, cells_of, lines_of, section_title
from gapwright.api.rules_pages.words import flat, heading, in_words
from gapwright.rulesets.overlay import MERGED, OPTIONAL, OWN, SECTIONS, at
from gapwright.rulesets.resolve import Origin
from gapwright.rulesets.ruleset import RuleSet

Path = tuple[str, ...]


class Provenance(msgspec.Struct, frozen=True, kw_only=True):
    """Where an entry was written; `mark` says in words what an overlay did to it.

    `was` is what it said in the versions below, the latest first.
    """

    mark: str
    origin: Origin
    was: tuple[tuple[Origin, Cell], ...] = ()

    @property
    def here(self) -> bool:
        """Return whether the version that is read wrote it itself."""
        return self.mark.endswith(" here")


class EntryView(msgspec.Struct, frozen=True, kw_only=True):
    """One entry: its anchor is the path by which answers cite it; cells go by column titles."""

    anchor: str
    code: str
    name: str
    entry: Any
    cells: dict[str, Cell]
    written: Provenance


class Grid(msgspec.Struct, frozen=True, kw_only=True):
    """A section, or a decision table: entries under columns."""

    section: str
    anchor: str
    title: str
    columns: tuple[str, ...]
    entries: tuple[EntryView, ...]
    notes: Cell = ()


class Removed(msgspec.Struct, frozen=True, kw_only=True):
    """An entry that an overlay removed, and the line that says so."""

    section: str
    code: str
    name: str
    lines: Cell
    origin: Origin


_ORDER = (
    *("values", "tables", "bill", "tools", "zones"),
    *OPTIONAL,
    *("cautions", "examples", "sources"),
)
_POLICIES = {
    "UNIQUE": "UNIQUE: for any input, exactly one row matches",
    "FIRST": "FIRST: the first row that matches applies",
    "PRIORITY": "PRIORITY: the matching row with the most severe output applies",
    "COLLECT": "COLLECT: every row that matches applies",
}
"""Hit policies in words, in the terms of the DMN standard."""


def head_lines(rules: RuleSet) -> Iterator[Line]:
    """Yield the members of the head that are the rule set's own, and not of its ledger."""
    written = provenance(("units",), rules)
    below = [f"{lines[0].text} in {origin.ruleset}" for origin, lines in written.was]
    mark = "; ".join((written.mark, *below)) if written.mark else ""
    yield Line(label="Units of answers", text=rules.units, aside=mark)
    yield Line(label="Digest of the content", text=rules.digest)
    for name in rules.content:
        if name not in (*OWN, "units", "tables", *SECTIONS, *_sections(rules)):
            yield from (Line(label=x, text=text) for x, text in flat(rules.content[name], name))


def grids(rules: RuleSet) -> Iterator[Grid]:
    """Yield the sections of a rule set in reading order, each decision table by itself."""
    for section in _sections(rules):
        if section == "tables":
            for name, table in rules.content["tables"].items():
                policy = _POLICIES.get(table["hit_policy"], table["hit_policy"])
                mark = provenance(("tables", name, "description"), rules).mark
                notes = (
                    Line(text=table["description"], aside=mark),
                    Line(label="Hit policy", text=policy),
                )
                title = f"Decision table: {in_words(name)}"
                yield _grid(("tables", name, "rows"), rules, title, notes)
        elif rules.content.get(section):
            yield _grid((section,), rules, section_title(section))


def _sections(rules: RuleSet) -> tuple[str, ...]:
    """Return the sections in reading order, those not known here last."""
    present = [name for name, part in rules.content.items() if isinstance(part, Mapping)]
    return tuple(dict.fromkeys((*_ORDER, *present)))


def _grid(path: Path, rules: RuleSet, title: str, notes: Cell = ()) -> Grid:
    views = [
        EntryView(
            anchor=".".join((*path, name)),
            code=name,
            name=name if path[0] == "sources" else heading(name),
            entry=entry,
            cells=cells_of((*path, name), entry, rules.content),
            written=provenance((*path, name), rules),
        )
        for name, entry in at(dict(rules.content), path).items()
    ]
    if not any(view.cells["Also"] for view in views):
        for view in views:
            del view.cells["Also"]
    return Grid(
        section=path[0],
        anchor=".".join(path[:2]),
        title=title,
        columns=tuple(views[0].cells) if views else (),
        entries=tuple(views),
        notes=notes,
    )


def provenance(path: Path, rules: RuleSet) -> Provenance:
    """Return where the entry at `path` comes from, and what it overrode, the latest first."""
    origins = _origins_since_removal(path, rules)
    was: list[tuple[Origin, Cell]] = []
    before: list[Line] = []
    state: Any = None
    for number, origin in enumerate(origins):
        merged = path[0] in MERGED and number
        state = {**state, **origin.entry} if merged else origin.entry
        now = [
            Line(label=f"{title}, {line.label}" if line.label else title, text=line.text)
            for title, cell in cells_of(path, state, rules.content).items()
            for line in cell
        ]
        if lines := tuple(line for line in before if line not in now):
            was.insert(0, (origins[number - 1], lines))
        before = now
    mark, last = "", origins[-1].ruleset
    if last != rules.resolved.chain[0]:  # what a root wrote itself has no mark
        verb = "added" if len(origins) == 1 else "changed" if was else "restated"
        mark = f"{verb} here" if last == rules.name else f"{verb} by {last}"
    return Provenance(mark=mark, origin=origins[-1], was=tuple(was))


def removed(rules: RuleSet) -> Iterator[Removed]:
    """Yield what overlays removed for good."""
    documents = rules.resolved.documents
    for number, document in enumerate(documents):
        for path, step in _removals(document.tree.get("remove", {})):
            below = [at(one.tree, path) for one in documents[:number]]
            entries = [entry for entry in below if entry is not None]
            if entries and at(dict(rules.content), path) is None:
                line = document.places.get(step, (1, 1))[0]
                yield Removed(
                    section=in_words(path[0]),
                    code=path[-1],
                    name=heading(path[-1]),
                    lines=lines_of(entries[-1]),
                    origin=Origin(
                        ruleset=document.name, file=document.file, line=line, entry=entries[-1]
                    ),
                )


def _origins_since_removal(path: Path, rules: RuleSet) -> tuple[Origin, ...]:
    """Return where an entry was written since an overlay last removed it, if any did."""
    origins, chain = rules.resolved.origins(path), rules.resolved.chain
    for number, document in enumerate(rules.resolved.documents):
        if any(path == gone for gone, _ in _removals(document.tree.get("remove", {}))):
            origins = tuple(origin for origin in origins if origin.ruleset in chain[number:])
    return origins


def _removals(remove: Mapping[str, Any]) -> Iterator[tuple[Path, tuple[str | int, ...]]]:
    """Yield the path of each entry that is removed, and of the line that says so."""
    for section, names in remove.items():
        tables = names.items() if section == "tables" else [("", names)]
        for table, rows in tables:
            path = ("tables", table, "rows") if table else (section,)
            step = (section, table) if table else (section,)
            for number, name in enumerate(rows):
                yield (*path, name), ("remove", *step, number)
