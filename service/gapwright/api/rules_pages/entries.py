"""What an entry of a rule set says, in the columns of a table.

Whatever member of an entry has no column of its own is shown in a last one: a page leaves nothing
of a rule set out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import msgspec
from msgspec.structs import replace

from gapwright.api.rules_pages.words import (
    condition,
    conditions,
    effort,
    flat,
    heading,
    in_words,
    need,
    pack,
    text_of,
)
from gapwright.rulesets.tables import join
from gapwright.rulesets.values import STRICTER
from gapwright.rulesets.vocabulary import TABLES

Content = Mapping[str, Any]
Entry = Any
"""What a rule file says of one thing; in a section that is not known here it may be anything."""
Rows = Mapping[str, Mapping[str, Any]]
"""Rows of a decision table, by their names."""


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a cell. `aside` explains it, and is no part of what the rule set says.

    `parts` are the text in pieces, each with whether it is marked.
    """

    text: str
    label: str = ""
    aside: str = ""
    href: str = ""
    parts: tuple[tuple[str, bool], ...] = ()


Cell = tuple[Line, ...]


_WORK = {"job": "For the job", "estimate": "By rule of thumb", "count": "From a layout"}
_COLUMNS: dict[str, dict[str, str]] = {
    "values": {"value": "Value", "description": "Meaning", "allowed": "Allowed range"},
    "bill": {
        "description": "Description",
        "when": "Only where",
        "estimate": "Needed, by rule of thumb",
        "count": "Needed, from a layout",
        "spare": "Spare",
        "minimum": "At least",
        "pack": "Sold",
    },
    "tools": {"description": "Description", "need": "Need", "when": "Only where"},
    "cautions": {
        "severity": "Signal word",
        "text": "Text",
        "when": "Only where",
        "locked": "Lock",
    },
    "zones": {
        "description": "Meaning",
        "values": "Values in the zone",
        "bill": "Quantities in the zone",
    },
    "assumptions": {"value": "Assumed", "low": "Likely range", "description": "Meaning"},
    "work": {"description": "Meaning", "when": "Only where", **_WORK},
    "labor_factors": {"share": "Share", "description": "Meaning", "when": "Only where"},
    "mesh": {"value": "Value", "description": "Meaning"},
    "examples": {"call": "Call", "given": "Given", "expect": "Expected"},
    "sources": {"title": "Title", "status": "Status"},
}
"""The members of an entry that have a column, by section, with the titles of the columns."""
_UNSOURCED = ("examples", "sources")
_SHOWN_ALONG = {"source": "clause", "low": "high", "estimate": "unit"}
"""Members that are shown in the column of another."""
_TITLES = {
    "tables": "Decision tables",
    "bill": "Bill of materials",
    "work": "Labor, as the time of one person",
    "labor_factors": "Labor factors, on the time of all tasks",
}


def section_title(section: str) -> str:
    """Return the heading of a section."""
    return _TITLES.get(section, heading(section))


def cells_of(
    path: Sequence[str], entry: Entry, content: Content, rows: Rows | None = None
) -> dict[str, Cell]:
    """Return the cells of the entry at a path, by the titles of their columns.

    A row of a decision table has a column for each input and output of `rows`: left out, of all
    rows of its table. `Also` has the members without a column.
    """
    if path[0] == "tables" and len(path) > 3:
        return _row_cells(path[1], entry, content, rows or content["tables"][path[1]]["rows"])
    if not isinstance(entry, Mapping):
        return {"Also": lines_of(entry)}
    section = path[0]
    columns = dict(_COLUMNS.get(section, {}))
    if columns and section not in _UNSOURCED:
        columns["source"] = "Source"
    found = {}
    for member, title in columns.items():
        render = _RENDERERS.get(f"{section}.{member}") or _RENDERERS.get(member, _plain)
        cell = render(entry.get(member), entry, content)
        found[title] = cell or _MISSING.get(member, _text("none"))
    if section == "values" and (stricter := STRICTER.get(path[-1])):
        (allowed,) = found["Allowed range"]
        found["Allowed range"] = (replace(allowed, aside=f"{stricter} is stricter"),)
    known = {*columns, *(_SHOWN_ALONG.get(member, member) for member in columns)}
    left = {member: part for member, part in entry.items() if member not in known}
    return {**found, "Also": lines_of(left)}


def _row_cells(table: str, row: Entry, content: Content, rows: Rows) -> dict[str, Cell]:
    """Return the cells of a row; outputs that are free text share a column."""
    inputs = dict.fromkeys(name for one in rows.values() for name in one.get("when", {}))
    outputs = dict.fromkeys(name for one in rows.values() for name in one["then"])
    words = TABLES[table].outputs if table in TABLES else {}
    texts = [name for name in outputs if not words.get(name)]
    when, then = row.get("when", {}), row["then"]
    found = {in_words(n): _text(condition(when[n]) if n in when else "-") for n in inputs}
    found |= {in_words(n): _text(text_of(then.get(n, ""))) for n in outputs if n not in texts}
    if texts:
        found[join([in_words(name) for name in texts], "and")] = tuple(
            Line(label=in_words(name) if len(texts) > 1 else "", text=text_of(then[name]))
            for name in texts
            if name in then
        )
    found["Source"] = _source(row.get("source"), row, content)
    left = {n: part for n, part in row.items() if n not in ("when", "then", "source", "clause")}
    return {**found, "Also": lines_of(left)}


def lines_of(part: object) -> Cell:
    """Return all that a part of an entry contains, a line for each text."""
    if part is None or part == {}:
        return ()
    return tuple(Line(label=label, text=text) for label, text in flat(part))


def _text(text: str) -> Cell:
    return (Line(text=text),)


def _plain(part: Entry, _: Entry, __: Content) -> Cell:
    return lines_of(part)


def _source(source: Entry, entry: Entry, content: Content) -> Cell:
    """Return the title of an entry's source, with its clause, linked to where it is listed."""
    if source is None:
        return ()
    title = content["sources"].get(source, {}).get("title", source)
    text = f"{title}, {entry['clause']}" if entry.get("clause") else str(title)
    return (Line(text=text, href=f"#sources.{source}"),)


def _needs(needs: Entry, item: Entry, _: Content) -> Cell:
    measured = item.get("unit") == "length"
    return tuple(
        Line(label=in_words(name), text=need(one, measured=measured))
        for name, one in (needs or {}).items()
    )


def _efforts(efforts: Entry, _: Entry, __: Content) -> Cell:
    return tuple(Line(label=in_words(n), text=effort(e)) for n, e in (efforts or {}).items())


def _zone_bill(bill: Entry, _: Entry, content: Content) -> Cell:
    """Return the needs of a zone; what one does not say is as in the bill."""
    lines = []
    for item, needs in (bill or {}).items():
        for key, one in needs.items():
            standard = content["bill"].get(item, {}).get("estimate", {}).get(key, {"driver": item})
            text = need({**standard, **one, "when": {}})
            lines.append(Line(label=f"{in_words(item)}, {in_words(key)}", text=text))
    return tuple(lines)


_MISSING = {"count": _text("same as by rule of thumb"), "source": ()}
_RENDERERS: dict[str, Callable[[Entry, Entry, Content], Cell]] = {
    "source": _source,
    "when": lambda when, _, __: _text(conditions(when or {}) or "always"),
    "locked": lambda locked, _, __: _text("locked" if locked else "not locked"),
    "pack": lambda found, _, __: _text(pack(found)),
    "low": lambda low, entry, _: _text(f"from {text_of(low)} to {text_of(entry['high'])}"),
    "values.allowed": lambda allowed, _, __: _text(
        f"from {allowed['min']} to {allowed['max']}" if allowed else "any value"
    ),
    "bill.estimate": _needs,
    "bill.count": _needs,
    "zones.bill": _zone_bill,
    **{f"work.{part}": _efforts for part in _WORK},
}
"""Renderers of members, by section or of all sections: of a member, its entry and the content."""
