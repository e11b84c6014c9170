"""Where an entry of a rule set was written, by which overlay, and what it stood in place of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from service.api.rules_pages.cells import Cell, Column, Content, Line, cells, said
from service.rulesets.overlay import MERGED
from service.rulesets.resolve import Origin, at
from service.rulesets.ruleset import RuleSet

Path = tuple[str, ...]


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """A line of a rule file; `href` leads to the entry where that is on another page."""

    ruleset: str
    file: str
    line: int
    href: str = ""


class Was(msgspec.Struct, frozen=True, kw_only=True):
    """What an entry said in a version below, where the one above it says otherwise."""

    place: Place
    lines: Cell


class Written(msgspec.Struct, frozen=True, kw_only=True):
    """Where an entry was written; `mark` says in words what an overlay did to it."""

    mark: str
    place: Place
    was: tuple[Was, ...]


def written(path: Path, columns: tuple[Column, ...], rules: RuleSet) -> Written:
    """Return where the entry at `path` comes from, and what it overrode, the latest first."""
    origins = _since_removal(path, rules)
    states = _states(path[0], origins)
    steps = zip(origins, states, states[1:], strict=False)
    was = [
        Was(place=place(origin, path, rules), lines=lines)
        for origin, old, new in steps
        if (lines := _overridden(path[-1], columns, old, new, rules.content))
    ]
    return Written(
        mark=_mark(origins, bool(was), rules),
        place=place(origins[-1], path, rules),
        was=tuple(reversed(was)),
    )


def place(origin: Origin, path: Path, rules: RuleSet) -> Place:
    """Return where an entry stands, with a link where that is in another version."""
    here = origin.ruleset == rules.name
    href = "" if here else f"{address(origin.ruleset)}#{'.'.join(path)}"
    return Place(ruleset=origin.ruleset, file=origin.file, line=origin.line, href=href)


def address(name: str) -> str:
    """Return the address of the page of `id@version`."""
    return f"/rules/{name.replace('@', '/')}"


def dropped(rules: RuleSet) -> Iterator[tuple[Path, Any, Place]]:
    """Yield what overlays removed: its path, what it said, and where the removal is written."""
    documents = rules.resolved.documents
    for number, document in enumerate(documents):
        for path, step in _removals(document.tree.get("remove", {})):
            trees = [one.tree for one in documents[:number]]
            below = [entry for tree in trees if (entry := at(tree, path)) is not None]
            if below and at(dict(rules.content), path) is None:
                line = document.places.get(step, (1, 1))[0]
                name = document.name
                found = Place(
                    ruleset=name,
                    file=document.file,
                    line=line,
                    href="" if name == rules.name else address(name),
                )
                yield path, below[-1], found


def _since_removal(path: Path, rules: RuleSet) -> tuple[Origin, ...]:
    """Return where an entry was written since an overlay last removed it, if any did."""
    origins = rules.resolved.origins(path)
    for document in rules.resolved.documents:
        if any(path == removed for removed, _ in _removals(document.tree.get("remove", {}))):
            later = rules.resolved.chain[rules.resolved.chain.index(document.name) :]
            origins = tuple(origin for origin in origins if origin.ruleset in later)
    return origins


def _removals(remove: Mapping[str, Any]) -> Iterator[tuple[Path, tuple[str | int, ...]]]:
    """Yield the path of each entry that is removed, and of the line that says so."""
    for section, names in remove.items():
        if section == "tables":
            for table, rows in names.items():
                for number, row in enumerate(rows):
                    yield ("tables", table, "rows", row), ("remove", "tables", table, number)
        else:
            for number, name in enumerate(names):
                yield (section, name), ("remove", section, number)


def _states(section: str, origins: tuple[Origin, ...]) -> list[Any]:
    """Return the entry as it stood after each version that wrote it; values are merged."""
    states: list[Any] = []
    for origin in origins:
        merged = section in MERGED and states
        states.append({**states[-1], **origin.entry} if merged else origin.entry)
    return states


def _overridden(
    name: str,
    columns: tuple[Column, ...],
    old: Any,  # noqa: ANN401
    new: Any,  # noqa: ANN401
    content: Content,
) -> Cell:
    """Return what the old entry said and the new one does not say."""
    before, after = cells(columns, name, old, content), cells(columns, name, new, content)
    return tuple(
        _old_line(title, line)
        for title, lines in before.items()
        for line in lines
        if said(line) not in {said(other) for other in after[title]}
    )


def _old_line(head: str, line: Line) -> Line:
    label = f"{head}, {line.label}" if line.label else head
    return Line(label=label, text=line.text)


def _mark(origins: tuple[Origin, ...], changed: bool, rules: RuleSet) -> str:
    """Return `changed here`, `added by northmoor@1.0.0` and the like; nothing for a root's own."""
    last = origins[-1].ruleset
    if last == rules.resolved.chain[0]:
        return ""
    by = "here" if last == rules.name else f"by {last}"
    if len(origins) == 1:
        return f"added {by}"
    return f"changed {by}" if changed else f"restated {by}"
