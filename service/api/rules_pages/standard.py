"""One version of a rule set as a standard to read: its head, contents and sections."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.api.rules_pages.cells import Cell, Line
from service.api.rules_pages.grids import EntryView, Grid, grids, sections
from service.api.rules_pages.listing import VersionRow
from service.api.rules_pages.origins import Place, address, dropped, written
from service.api.rules_pages.words import flat, heading, in_words
from service.rulesets.overlay import SECTIONS
from service.rulesets.ruleset import RuleSet


class Dropped(msgspec.Struct, frozen=True, kw_only=True):
    """An entry that an overlay removed."""

    section: str
    name: str
    code: str
    lines: Cell
    place: Place


class Base(msgspec.Struct, frozen=True, kw_only=True):
    """The version of another rule set that this one is based on."""

    name: str
    id: str
    version: str


class Standard(msgspec.Struct, frozen=True, kw_only=True):
    """One version, ready to be read."""

    name: str
    id: str
    version: str
    title: str
    base: Base | None
    head: tuple[Line, ...]
    chain: tuple[Line, ...]
    grids: tuple[Grid, ...]
    dropped: tuple[Dropped, ...]
    changed: tuple[tuple[str, tuple[EntryView, ...]], ...]
    """Entries that this version itself wrote, by the titles of their sections."""


_HEAD = ("id", "version", "title", "change", "approved_by", "effective", "status", "based_on")


def standard(rules: RuleSet, row: VersionRow) -> Standard:
    """Return a version as a standard to read; `row` is what the ledger says of it."""
    shown = tuple(grids(rules))
    return Standard(
        name=rules.name,
        id=rules.id,
        version=rules.version,
        title=rules.title,
        base=_base(rules),
        head=tuple(_head(rules, row)),
        chain=tuple(_chain(rules)),
        grids=shown,
        dropped=tuple(_dropped(rules)),
        changed=tuple((grid.title, here) for grid in shown if (here := _here(grid))),
    )


def _base(rules: RuleSet) -> Base | None:
    """Return what a version is based on, unless that is the version before it."""
    name = str(rules.content.get("based_on", ""))
    identifier, _, version = name.partition("@")
    if not version or identifier == rules.id:
        return None
    return Base(name=name, id=identifier, version=version)


def _here(grid: Grid) -> tuple[EntryView, ...]:
    return tuple(entry for entry in grid.entries if entry.mark.endswith(" here"))


def _head(rules: RuleSet, row: VersionRow) -> Iterator[Line]:
    content = rules.content
    yield Line(label="Rule set", text=rules.name)
    yield Line(label="What changed", text=content["change"])
    yield Line(label="Approved by", text=content["approved_by"])
    yield Line(label="Effective", text=str(rules.effective), aside=row.state)
    yield Line(label="Status", text="withdrawn" if row.withdrawn else rules.status)
    yield Line(label="Units of its answers", text=rules.units, aside=_units_mark(rules))
    yield Line(label="Digest of the content", text=rules.digest)
    for name in content:
        if name not in (*_HEAD, "units", "tables", *SECTIONS, *sections(rules)):
            yield from (Line(label=label, text=text) for label, text in flat(content[name], name))


def _units_mark(rules: RuleSet) -> str:
    """Return who changed the units, and what they were below."""
    found = written(("units",), (), rules)
    below = [f"{was.lines[0].text} in {was.place.ruleset}" for was in found.was]
    return "; ".join((found.mark, *below)) if found.mark else ""


def _chain(rules: RuleSet) -> Iterator[Line]:
    """Yield the versions that this one was made of, the root first."""
    for document in rules.resolved.documents:
        href = "" if document.name == rules.name else address(document.name)
        yield Line(text=document.name, href=href, aside=document.file)


def _dropped(rules: RuleSet) -> Iterator[Dropped]:
    for path, entry, place in dropped(rules):
        lines = tuple(Line(label=label, text=text) for label, text in flat(entry))
        yield Dropped(
            section=in_words(path[0]),
            name=heading(path[-1]),
            code=path[-1],
            lines=lines,
            place=place,
        )
