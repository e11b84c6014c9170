"""The columns under which each section of a rule set is shown."""

from __future__ import annotations

from functools import partial

from service.api.rules_pages.cells import Cell, Column, Content, Entry, Line
from service.api.rules_pages.words import (
    conditions,
    effort,
    folded,
    in_words,
    need,
    pack,
    ratio,
    told,
)
from service.rulesets.values import STRICTER


def columns(section: str) -> tuple[Column, ...]:
    """Return the columns of a section; one that is not known here is told as it stands."""
    return _COLUMNS.get(section, ())


def _text(member: str, missing: str, room: str, name: str, entry: Entry, _: Content) -> Cell:
    anchor = f"{room}.{name}.{member}" if room else ""
    return (Line(text=told(entry[member]) if member in entry else missing, anchor=anchor),)


def _plain(title: str, member: str, missing: str = "", room: str = "") -> Column:
    """Return a column for one member; in a `room`, a section, it has an anchor of its own."""
    return Column(title=title, members=(member,), show=partial(_text, member, missing, room))


def _where(_: str, entry: Entry, __: Content) -> Cell:
    return (Line(text=conditions(entry.get("when", {})) or "always"),)


def _source(_: str, entry: Entry, content: Content) -> Cell:
    """Return the title of an entry's source, with its clause, linked to where it is listed."""
    source = entry.get("source")
    if source is None:
        return ()
    known = content["sources"].get(source, {})
    title = known.get("title", source)
    clause = entry.get("clause")
    text = f"{title}, {clause}" if clause else str(title)
    return (Line(text=text, href=f"#sources.{source}"),)


def _allowed(name: str, entry: Entry, _: Content) -> Cell:
    allowed, way = entry.get("allowed"), STRICTER.get(name)
    text = f"from {told(allowed['from'])} to {told(allowed['to'])}" if allowed else "anywhere"
    return (Line(text=text, aside=f"{way} is stricter" if way else ""),)


def _description(_: str, entry: Entry, __: Content) -> Cell:
    where = conditions(entry.get("when", {}))
    only = (Line(label="only where", text=where),) if where else ()
    return (Line(text=entry["description"]), *only)


def _needs(part: str, name: str, entry: Entry, _: Content) -> Cell:
    if part not in entry:
        return (Line(text="as by thumb rule"),)
    measured = entry.get("unit") == "length"
    return tuple(
        Line(
            label=in_words(need_id),
            text=need(one, measured=measured),
            anchor=f"bill.{name}.{part}.{need_id}",
        )
        for need_id, one in entry[part].items()
    )


def _efforts(part: str, name: str, entry: Entry, _: Content) -> Cell:
    if not entry.get(part):
        as_estimated = part == "count" and entry.get("estimate")
        return (Line(text="as by thumb rule" if as_estimated else "nothing"),)
    return tuple(
        Line(label=in_words(one_id), text=effort(one), anchor=f"work.{name}.{part}.{one_id}")
        for one_id, one in entry[part].items()
    )


def _likely(_: str, entry: Entry, __: Content) -> Cell:
    return (Line(text=f"from {told(entry['from'])} to {told(entry['to'])}"),)


def _pack(name: str, entry: Entry, _: Content) -> Cell:
    return (Line(text=pack(entry.get("pack")), anchor=f"bill.{name}.pack"),)


def _locked(_: str, entry: Entry, __: Content) -> Cell:
    return (Line(text="locked" if entry.get("locked") else "not locked"),)


def _zone_values(name: str, entry: Entry, content: Content) -> Cell:
    return tuple(
        Line(
            label=in_words(value),
            text=told(raw),
            aside=f"elsewhere {told(content['values'].get(value, {}).get('value'))}",
            anchor=f"zones.{name}.values.{value}",
        )
        for value, raw in entry.get("values", {}).items()
    )


def _zone_bill(name: str, entry: Entry, content: Content) -> Cell:
    return tuple(
        _zone_need((name, item, need_id), one, content)
        for item, needs in entry.get("bill", {}).items()
        for need_id, one in needs.items()
    )


def _zone_need(place: tuple[str, str, str], one: Entry, content: Content) -> Line:
    zone, item, need_id = place
    standard = content["bill"].get(item, {}).get("estimate", {}).get(need_id, {"driver": item})
    return Line(
        label=f"{in_words(item)}, {in_words(need_id)}",
        text=ratio(one, standard),
        aside=f"elsewhere {ratio({}, standard)}",
        anchor=f"zones.{zone}.bill.{item}.{need_id}",
    )


def _members(member: str, _: str, entry: Entry, __: Content) -> Cell:
    told_lines = tuple(Line(label=label, text=text) for label, text in folded(entry[member]))
    return told_lines or (Line(text="nothing"),)


SOURCE = Column(title="Source", members=("source", "clause"), show=_source)
_WHERE = Column(title="Only where", members=("when",), show=_where)
_COLUMNS: dict[str, tuple[Column, ...]] = {
    "values": (
        _plain("Value", "value"),
        _plain("Meaning", "means"),
        Column(title="May be moved", members=("allowed",), show=_allowed),
        SOURCE,
    ),
    "bill": (
        Column(title="Description", members=("description", "when"), show=_description),
        Column(
            title="Needed, by thumb rule",
            members=("estimate", "unit"),
            show=partial(_needs, "estimate"),
        ),
        Column(title="Needed, from a layout", members=("count",), show=partial(_needs, "count")),
        _plain("Spare", "spare", "none", "bill"),
        _plain("At least", "minimum", "none", "bill"),
        Column(title="Sold", members=("pack",), show=_pack),
        SOURCE,
    ),
    "tools": (
        _plain("Description", "description"),
        _plain("Need", "need"),
        _WHERE,
        SOURCE,
    ),
    "cautions": (
        _plain("Signal word", "severity"),
        _plain("Text", "text"),
        _WHERE,
        Column(title="Lock", members=("locked",), show=_locked),
        SOURCE,
    ),
    "zones": (
        _plain("Meaning", "means"),
        Column(title="Values that hold there", members=("values",), show=_zone_values),
        Column(title="Needs of the bill there", members=("bill",), show=_zone_bill),
        SOURCE,
    ),
    "assumptions": (
        _plain("Taken", "value"),
        Column(title="Likely", members=("from", "to"), show=_likely),
        _plain("Meaning", "means"),
        SOURCE,
    ),
    "work": (
        _plain("Meaning", "means"),
        _WHERE,
        Column(title="For the job", members=("job",), show=partial(_efforts, "job")),
        Column(title="By thumb rule", members=("estimate",), show=partial(_efforts, "estimate")),
        Column(title="From a layout", members=("count",), show=partial(_efforts, "count")),
        SOURCE,
    ),
    "surcharges": (
        _plain("Share", "share"),
        _plain("Meaning", "means"),
        _WHERE,
        SOURCE,
    ),
    "mesh": (
        _plain("Value", "value"),
        _plain("Meaning", "means"),
        SOURCE,
    ),
    "examples": (
        _plain("Call", "call"),
        Column(title="Given", members=("given",), show=partial(_members, "given")),
        Column(title="Expected", members=("expect",), show=partial(_members, "expect")),
    ),
    "sources": (
        _plain("Title", "title"),
        _plain("Status", "status"),
    ),
}
