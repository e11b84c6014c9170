"""What an entry of a rule set says, in the columns of a table.

Whatever member of an entry has no column of its own is shown in a last one: a page leaves nothing
of a rule set out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
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
from service.rulesets.tables.model import join
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
    """A column: the members of an entry that it shows, and how.

    `show` takes the entry's name, the entry, and the rule set's content. An `anchor` is the section
    in whose path the only line of the cell can be linked to.
    """

    title: str
    members: tuple[str, ...]
    show: Callable[[str, Entry, Content], str | Iterable[Line]]
    anchor: str = ""


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
    found = {}
    for column in chosen:
        shown = column.show(name, entry, content)
        if isinstance(shown, str):
            path = (column.anchor, name, column.members[0])
            shown = (Line(text=shown, anchor=".".join(path) if column.anchor else ""),)
        found[column.title] = tuple(shown)
    return {**found, "Also": lines_of(unshown(chosen, entry))} if rest else found


def unshown(chosen: tuple[Column, ...], entry: Any) -> Any:  # noqa: ANN401
    """Return what no column shows of an entry."""
    if not isinstance(entry, Mapping):
        return entry
    known = {member for column in chosen for member in column.members}
    return {name: part for name, part in entry.items() if name not in known}


def lines_of(part: object) -> Cell:
    """Return all that a part of an entry holds, a line for each text."""
    return tuple(Line(label=label, text=text) for label, text in flat(part)) if part else ()


def _member(title: str, member: str, missing: str = "", anchor: str = "") -> Column:
    """Return a column for one member, which says `missing` where an entry has none."""

    def show(_: str, entry: Entry, __: Content) -> str:
        return text_of(entry[member]) if member in entry else missing

    return Column(title, (member,), show, anchor)


def _input(name: str) -> Column:
    def show(_: str, row: Entry, __: Content) -> str:
        when = row.get("when", {})
        return condition(when[name]) if name in when else "-"

    return Column(in_words(name), ("when",), show)


def _output(names: tuple[str, ...]) -> Column:
    def show(_: str, row: Entry, __: Content) -> str | Iterable[Line]:
        then = row["then"]
        if len(names) == 1:
            return text_of(then.get(names[0], ""))
        return (Line(label=in_words(n), text=text_of(then[n])) for n in names if n in then)

    return Column(join([in_words(name) for name in names], "and"), ("then",), show)


def _needs(title: str, part: str) -> Column:
    """Return a column of what an item of the bill is needed for."""

    def show(name: str, item: Entry, _: Content) -> str | Iterable[Line]:
        measured = item.get("unit") == "length"
        texts = {key: need(one, measured=measured) for key, one in item.get(part, {}).items()}
        return _anchored(f"bill.{name}.{part}", texts) if part in item else "as by thumb rule"

    return Column(title, (part, "unit"), show)


def _efforts(title: str, part: str) -> Column:
    """Return a column of what a task takes time for."""

    def show(name: str, task: Entry, _: Content) -> str | Iterable[Line]:
        if task.get(part):
            texts = {key: effort(one) for key, one in task[part].items()}
            return _anchored(f"work.{name}.{part}", texts)
        return "as by thumb rule" if part == "count" and task.get("estimate") else "nothing"

    return Column(title, (part,), show)


def _anchored(path: str, texts: Mapping[str, str]) -> list[Line]:
    return [Line(label=in_words(k), text=t, anchor=f"{path}.{k}") for k, t in texts.items()]


def _source(_: str, entry: Entry, content: Content) -> Iterator[Line]:
    """Yield the title of an entry's source, with its clause, linked to where it is listed."""
    source = entry.get("source")
    if source is not None:
        title = content["sources"].get(source, {}).get("title", source)
        text = f"{title}, {entry['clause']}" if entry.get("clause") else str(title)
        yield Line(text=text, href=f"#sources.{source}")


def _allowed(name: str, entry: Entry, _: Content) -> Iterator[Line]:
    allowed, stricter = entry.get("allowed"), STRICTER.get(name)
    aside = f"{stricter} is stricter" if stricter else ""
    yield Line(text=_span("", allowed, {}) if allowed else "anywhere", aside=aside)


def _span(_: str, entry: Entry, __: Content) -> str:
    return f"from {text_of(entry['from'])} to {text_of(entry['to'])}"


def _description(_: str, item: Entry, __: Content) -> Iterator[Line]:
    yield Line(text=item["description"])
    if where := conditions(item.get("when", {})):
        yield Line(label="only where", text=where)


def _zone_values(name: str, zone: Entry, content: Content) -> Iterator[Line]:
    for line in _anchored(
        f"zones.{name}.values", {key: text_of(raw) for key, raw in zone.get("values", {}).items()}
    ):
        standard = content["values"].get(line.anchor.rsplit(".", 1)[1], {}).get("value")
        yield msgspec.structs.replace(line, aside=f"elsewhere {text_of(standard)}")


def _zone_bill(name: str, zone: Entry, content: Content) -> Iterator[Line]:
    for item, needs in zone.get("bill", {}).items():
        for key, one in needs.items():
            elsewhere = content["bill"].get(item, {}).get("estimate", {})
            standard = elsewhere.get(key, {"driver": item})
            yield Line(
                label=f"{in_words(item)}, {in_words(key)}",
                text=ratio(one, standard),
                aside=f"elsewhere {ratio({}, standard)}",
                anchor=f"zones.{name}.bill.{item}.{key}",
            )


def _job(title: str, member: str) -> Column:
    """Return a column of what an example gives or expects."""

    def show(_: str, entry: Entry, __: Content) -> str | Iterable[Line]:
        lines = [Line(label=label, text=text) for label, text in folded(entry[member])]
        return lines or "nothing"

    return Column(title, (member,), show)


SOURCE = Column("Source", ("source", "clause"), _source)
_MEANS = _member("Meaning", "means")
_WHERE = Column("Only where", ("when",), lambda _, e, __: conditions(e.get("when", {})) or "always")
_LOCK = Column("Lock", ("locked",), lambda _, e, __: "locked" if e.get("locked") else "not locked")
_COLUMNS: dict[str, tuple[Column, ...]] = {
    "values": (
        _member("Value", "value"),
        _MEANS,
        Column("May be moved", ("allowed",), _allowed),
        SOURCE,
    ),
    "bill": (
        Column("Description", ("description", "when"), _description),
        _needs("Needed, by thumb rule", "estimate"),
        _needs("Needed, from a layout", "count"),
        _member("Spare", "spare", "none", "bill"),
        _member("At least", "minimum", "none", "bill"),
        Column("Sold", ("pack",), lambda _, item, __: pack(item.get("pack")), "bill"),
        SOURCE,
    ),
    "tools": (_member("Description", "description"), _member("Need", "need"), _WHERE, SOURCE),
    "cautions": (
        _member("Signal word", "severity"),
        _member("Text", "text"),
        _WHERE,
        _LOCK,
        SOURCE,
    ),
    "zones": (
        _MEANS,
        Column("Values that hold there", ("values",), _zone_values),
        Column("Needs of the bill there", ("bill",), _zone_bill),
        SOURCE,
    ),
    "assumptions": (
        _member("Taken", "value"),
        Column("Likely", ("from", "to"), _span),
        _MEANS,
        SOURCE,
    ),
    "work": (
        _MEANS,
        _WHERE,
        _efforts("For the job", "job"),
        _efforts("By thumb rule", "estimate"),
        _efforts("From a layout", "count"),
        SOURCE,
    ),
    "surcharges": (_member("Share", "share"), _MEANS, _WHERE, SOURCE),
    "mesh": (_member("Value", "value"), _MEANS, SOURCE),
    "examples": (_member("Call", "call"), _job("Given", "given"), _job("Expected", "expect")),
    "sources": (_member("Title", "title"), _member("Status", "status")),
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
