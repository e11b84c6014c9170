"""The columns of a decision table: each input that its rows ask for, and each output."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from service.api.rules_pages.cells import Cell, Column, Content, Entry, Line
from service.api.rules_pages.columns import SOURCE
from service.api.rules_pages.words import condition, in_words, told
from service.rulesets.tables.words import join
from service.rulesets.vocabulary import TABLES


def row_columns(table: str, rows: Mapping[str, Entry]) -> tuple[Column, ...]:
    """Return the columns of a decision table: each input and output that its rows use.

    Outputs that are free text share a column.
    """
    inputs = dict.fromkeys(name for row in rows.values() for name in row.get("when", {}))
    outputs = dict.fromkeys(name for row in rows.values() for name in row["then"])
    words = TABLES[table].outputs if table in TABLES else {}
    texts = tuple(name for name in outputs if not words.get(name))
    told_alone = () if len(texts) > 1 else texts
    return (
        *(_part("when", name, _any_or_condition) for name in inputs),
        *(_part("then", name, _output) for name in outputs if words.get(name)),
        *(_part("then", name, _output) for name in told_alone),
        *((_texts(texts),) if len(texts) > 1 else ()),
        SOURCE,
    )


def _part(member: str, name: str, show: Callable[[Entry, str], str]) -> Column:
    def cell(_: str, entry: Entry, __: Content) -> Cell:
        return (Line(text=show(entry.get(member, {}), name)),)

    return Column(title=in_words(name), members=(member,), show=cell)


def _texts(names: tuple[str, ...]) -> Column:
    def cell(_: str, entry: Entry, __: Content) -> Cell:
        then = entry["then"]
        return tuple(Line(label=in_words(n), text=told(then[n])) for n in names if n in then)

    return Column(
        title=join([in_words(name) for name in names], "and"), members=("then",), show=cell
    )


def _any_or_condition(when: Entry, name: str) -> str:
    return condition(when[name]) if name in when else "-"


def _output(then: Entry, name: str) -> str:
    return told(then.get(name, ""))
