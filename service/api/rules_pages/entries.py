"""What an entry of a rule set says, in the columns of a table.

Whatever member of an entry has no column of its own is shown in a last one: a page leaves nothing
of a rule set out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import msgspec

from service.api.rules_pages.words import (
    condition,
    conditions,
    effort,
    flat,
    folded,
    heading,
    in_words,
    need,
    pack,
    ratio,
    text_of,
)
from service.rulesets.tables.words import join
from service.rulesets.values import STRICTER
from service.rulesets.vocabulary import TABLES

Content = Mapping[str, Any]
Entry = Any
"""What a rule file says of one thing: in a section that is not known here it may be anything."""


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


class Column(msgspec.Struct, frozen=True):
    """A column: the members of an entry that it shows, and how: from name, entry and content."""

    title: str
    members: tuple[str, ...]
    show: Callable[[str, Any, Content], Cell]


def columns(section: str) -> tuple[Column, ...]:
    """Return the columns of a section; one that is not known here has none."""
    return _COLUMNS.get(section, ())


def row_columns(table: str, rows: Iterable[Mapping[str, Any]]) -> tuple[Column, ...]:
    """Return the columns of a decision table: each input and output that its rows use.

    Outputs that are free text share a column.
    """
    rows = tuple(rows)
    inputs = dict.fromkeys(name for row in rows for name in row.get("when", {}))
    outputs = dict.fromkeys(name for row in rows for name in row["then"])
    words = TABLES[table].outputs if table in TABLES else {}
    texts = tuple(name for name in outputs if not words.get(name))
    found = [_input(name) for name in inputs]
    found += [_output((name,)) for name in outputs if words.get(name)]
    return (*found, *([_output(texts)] if texts else []), SOURCE)


def cells(
    chosen: tuple[Column, ...],
    name: str,
    entry: Entry,
    content: Content,
    *,
    rest: bool = True,
) -> dict[str, Cell]:
    """Return an entry's cells by the titles of their columns; `Also` shows the members left."""
    shown = {column.title: column.show(name, entry, content) for column in chosen}
    return {**shown, "Also": lines_of(unshown(chosen, entry))} if rest else shown


def unshown(chosen: tuple[Column, ...], entry: Any) -> Any:  # noqa: ANN401
    """Return what no column shows of an entry."""
    if not isinstance(entry, Mapping):
        return entry
    known = {member for column in chosen for member in column.members}
    return {name: part for name, part in entry.items() if name not in known}


def lines_of(part: object) -> Cell:
    """Return all that a part of an entry holds, a line for each text."""
    return tuple(Line(label=label, text=text) for label, text in flat(part)) if part else ()


def _input(name: str) -> Column:
    def show(_: str, entry: Entry, __: Content) -> Cell:
        when = entry.get("when", {})
        return (Line(text=condition(when[name]) if name in when else "-"),)

    return Column(in_words(name), ("when",), show)


def _output(names: tuple[str, ...]) -> Column:
    def show(_: str, entry: Entry, __: Content) -> Cell:
        then = entry["then"]
        if len(names) == 1:
            return (Line(text=text_of(then.get(names[0], ""))),)
        return tuple(Line(label=in_words(n), text=text_of(then[n])) for n in names if n in then)

    return Column(join([in_words(name) for name in names], "and"), ("then",), show)


def _plain(title: str, member: str, missing: str = "", section: str = "") -> Column:
    """Return a column for one member; in a `section` it has an anchor of its own."""

    def show(name: str, entry: Entry, _: Content) -> Cell:
        text = text_of(entry[member]) if member in entry else missing
        return (Line(text=text, anchor=f"{section}.{name}.{member}" if section else ""),)

    return Column(title, (member,), show)


def _text(title: str, members: tuple[str, ...], write: Callable[[Any], str]) -> Column:
    """Return a column whose only line `write` makes of an entry."""
    return Column(title, members, lambda _, entry, __: (Line(text=write(entry)),))


def _list(section: str, title: str, part: str, write: Callable[[Any, Any], str]) -> Column:
    """Return a column of the needs or efforts of an entry, each written with its entry."""

    def show(name: str, entry: Entry, _: Content) -> Cell:
        by_estimate = section == "bill" or (part == "count" and entry.get("estimate"))
        if part not in entry or (section == "work" and not entry[part]):
            return (Line(text="as by thumb rule" if by_estimate else "nothing"),)
        return tuple(
            Line(
                label=in_words(key),
                text=write(one, entry),
                anchor=f"{section}.{name}.{part}.{key}",
            )
            for key, one in entry[part].items()
        )

    return Column(title, (part, "unit") if section == "bill" else (part,), show)


def _source(_: str, entry: Entry, content: Content) -> Cell:
    """Return the title of an entry's source, with its clause, linked to where it is listed."""
    source = entry.get("source")
    if source is None:
        return ()
    title = content["sources"].get(source, {}).get("title", source)
    text = f"{title}, {entry['clause']}" if entry.get("clause") else str(title)
    return (Line(text=text, href=f"#sources.{source}"),)


def _allowed(name: str, entry: Entry, _: Content) -> Cell:
    allowed, stricter = entry.get("allowed"), STRICTER.get(name)
    return (
        Line(
            text=_span(allowed) if allowed else "anywhere",
            aside=f"{stricter} is stricter" if stricter else "",
        ),
    )


def _span(entry: Mapping[str, Any]) -> str:
    return f"from {text_of(entry['from'])} to {text_of(entry['to'])}"


def _description(_: str, entry: Entry, __: Content) -> Cell:
    where = conditions(entry.get("when", {}))
    only = (Line(label="only where", text=where),) if where else ()
    return (Line(text=entry["description"]), *only)


def _zone_values(name: str, entry: Entry, content: Content) -> Cell:
    return tuple(
        Line(
            label=in_words(value),
            text=text_of(raw),
            aside=f"elsewhere {text_of(content['values'].get(value, {}).get('value'))}",
            anchor=f"zones.{name}.values.{value}",
        )
        for value, raw in entry.get("values", {}).items()
    )


def _zone_bill(name: str, entry: Entry, content: Content) -> Cell:
    found = []
    for item, needs in entry.get("bill", {}).items():
        elsewhere = content["bill"].get(item, {}).get("estimate", {})
        for key, one in needs.items():
            standard = elsewhere.get(key, {"driver": item})
            found.append(
                Line(
                    label=f"{in_words(item)}, {in_words(key)}",
                    text=ratio(one, standard),
                    aside=f"elsewhere {ratio({}, standard)}",
                    anchor=f"zones.{name}.bill.{item}.{key}",
                )
            )
    return tuple(found)


def _members(title: str, member: str) -> Column:
    def show(_: str, entry: Entry, __: Content) -> Cell:
        found = tuple(Line(label=label, text=text) for label, text in folded(entry[member]))
        return found or (Line(text="nothing"),)

    return Column(title, (member,), show)


def _need_text(one: Any, entry: Any) -> str:  # noqa: ANN401
    return need(one, measured=entry.get("unit") == "length")


def _effort_text(one: Any, _: Any) -> str:  # noqa: ANN401
    return effort(one)


SOURCE = Column("Source", ("source", "clause"), _source)
_MEANS = _plain("Meaning", "means")
_WHERE = _text("Only where", ("when",), lambda e: conditions(e.get("when", {})) or "always")
_COLUMNS: dict[str, tuple[Column, ...]] = {
    "values": (
        _plain("Value", "value"),
        _MEANS,
        Column("May be moved", ("allowed",), _allowed),
        SOURCE,
    ),
    "bill": (
        Column("Description", ("description", "when"), _description),
        _list("bill", "Needed, by thumb rule", "estimate", _need_text),
        _list("bill", "Needed, from a layout", "count", _need_text),
        _plain("Spare", "spare", "none", "bill"),
        _plain("At least", "minimum", "none", "bill"),
        Column(
            "Sold",
            ("pack",),
            lambda n, e, _: (Line(text=pack(e.get("pack")), anchor=f"bill.{n}.pack"),),
        ),
        SOURCE,
    ),
    "tools": (_plain("Description", "description"), _plain("Need", "need"), _WHERE, SOURCE),
    "cautions": (
        _plain("Signal word", "severity"),
        _plain("Text", "text"),
        _WHERE,
        _text("Lock", ("locked",), lambda e: "locked" if e.get("locked") else "not locked"),
        SOURCE,
    ),
    "zones": (
        _MEANS,
        Column("Values that hold there", ("values",), _zone_values),
        Column("Needs of the bill there", ("bill",), _zone_bill),
        SOURCE,
    ),
    "assumptions": (
        _plain("Taken", "value"),
        _text("Likely", ("from", "to"), _span),
        _MEANS,
        SOURCE,
    ),
    "work": (
        _MEANS,
        _WHERE,
        _list("work", "For the job", "job", _effort_text),
        _list("work", "By thumb rule", "estimate", _effort_text),
        _list("work", "From a layout", "count", _effort_text),
        SOURCE,
    ),
    "surcharges": (_plain("Share", "share"), _MEANS, _WHERE, SOURCE),
    "mesh": (_plain("Value", "value"), _MEANS, SOURCE),
    "examples": (
        _plain("Call", "call"),
        _members("Given", "given"),
        _members("Expected", "expect"),
    ),
    "sources": (_plain("Title", "title"), _plain("Status", "status")),
}
_TITLES = {
    "tables": "Decision tables",
    "bill": "Bill of materials",
    "work": "Work, in time of one person",
    "surcharges": "Surcharges on the time of all tasks",
}


def section_title(section: str) -> str:
    """Return the heading of a section."""
    return _TITLES.get(section, heading(section))
