"""Cells: what an entry of a rule set says, in the columns of a table.

Whatever member of an entry has no column of its own is told in a last one: a page leaves nothing
of a rule set out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import msgspec

from service.api.rules_pages.words import flat

Entry = Mapping[str, Any]
Content = Mapping[str, Any]


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a cell. `aside` explains it, and is no part of what the rule set says.

    `parts` are the text in pieces where some of it is marked.
    """

    text: str
    label: str = ""
    aside: str = ""
    anchor: str = ""
    href: str = ""
    parts: tuple[tuple[str, bool], ...] = ()


Cell = tuple[Line, ...]


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """A column: the members of an entry that it tells, and how."""

    title: str
    members: tuple[str, ...]
    show: Callable[[str, Entry, Content], Cell]


def shows_rest(chosen: tuple[Column, ...], entries: Mapping[str, Entry]) -> bool:
    """Return whether any entry has a member that no column tells."""
    return any(_rest(chosen, entry) for entry in entries.values())


def cells(
    chosen: tuple[Column, ...],
    name: str,
    entry: Any,  # noqa: ANN401 - of a section that is not known it may be anything
    content: Content,
    *,
    rest: bool = True,
) -> dict[str, Cell]:
    """Return an entry's cells by the titles of their columns; `Also` tells the members left."""
    shown = {column.title: column.show(name, entry, content) for column in chosen}
    return {**shown, "Also": lines(_rest(chosen, entry))} if rest else shown


def lines(part: object) -> Cell:
    """Return all that a part of an entry holds, a line for each text."""
    return tuple(Line(label=label, text=text) for label, text in flat(part)) if part else ()


def said(line: Line) -> tuple[str, str]:
    """Return what tells whether two lines say the same."""
    return line.label, line.text


def _rest(chosen: tuple[Column, ...], entry: Any) -> dict[str, Any]:  # noqa: ANN401
    if not isinstance(entry, Mapping):
        return {"": entry}
    known = {member for column in chosen for member in column.members}
    return {name: part for name, part in entry.items() if name not in known}
