"""What differs between two versions, before and after, as a page shows it."""

from __future__ import annotations

from collections import Counter
from difflib import SequenceMatcher
from typing import Any

import msgspec

from gapwright.api.rules_pages.entries import Cell, Content, Line, cells_of, section_title
from gapwright.api.rules_pages.words import heading, in_words, text_of
from gapwright.publishing.changes import Change, changes
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.tables import join

_CLASSES = {
    "stricter": "stricter",
    "looser": "looser",
    "neutral": "neutral",
    "wording": "in wording only",
}
"""The classes of changes, as they are counted."""
_HEAD = ("title", "change", "approved_by", "effective", "units", "based_on")

Pair = tuple[str, Cell, Cell]
"""The title of a part, and what two versions say of it."""


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs, and the members that are not the same.

    `anchor` leads to it on the page of either version.
    """

    change: Change
    name: str
    kind: str
    anchor: str
    pairs: tuple[Pair, ...]
    source: str


def comparison(before: RuleSet, after: RuleSet) -> dict[str, Any]:
    """Return what differs between two versions, for the template."""
    found = [
        _difference(change, before.content, after.content) for change in changes(before, after)
    ]
    return {
        "before": before,
        "after": after,
        "head": _pairs(_head(before), _head(after)),
        "summary": _summary(before.name, after.name, found),
        "differences": found,
    }


def _head(rules: RuleSet) -> dict[str, Cell]:
    return {heading(name): (Line(text=text_of(rules.content.get(name))),) for name in _HEAD}


def _summary(before: str, after: str, found: list[Difference]) -> str:
    """Return how much differs, as a sentence."""
    if not found:
        return f"{before} and {after} have the same rules."
    counts = Counter(str(one.change.classification) for one in found)
    parts = [f"{counts[name]} {words}" for name, words in _CLASSES.items() if counts[name]]
    entries = "1 entry differs" if len(found) == 1 else f"{len(found)} entries differ"
    return f"{entries} from {before} to {after}: {join(parts, 'and')}."


def _difference(change: Change, before: Content, after: Content) -> Difference:
    path = change.entry.split(".")
    kind, anchor = section_title(path[0]).lower(), change.entry
    if path[0] == "tables":
        is_row = len(path) > 3
        kind = f"{'row of' if is_row else 'table'} {in_words(path[1])}"
        anchor = change.entry if is_row else ".".join(path[:2])
    elif path == ["units"]:
        anchor = "head"
    pairs = _pairs(
        _cells(path, change.before, before, change), _cells(path, change.after, after, change)
    )
    return Difference(
        change=change,
        name=heading(path[-1]),
        kind=kind,
        anchor=anchor,
        pairs=pairs,
        source="" if any(title == "Source" for title, *_ in pairs) else change.source or "",
    )


def _cells(
    path: list[str],
    entry: Any,  # noqa: ANN401 - any plain data
    content: Content,
    change: Change,
) -> dict[str, Cell]:
    """Return what one version says of an entry, by titles; nothing where it has no such entry."""
    if entry is None:
        return {}
    if isinstance(entry, list):
        return {"Order": (Line(text=", ".join(in_words(name) for name in entry)),)}
    if isinstance(entry, str):
        return {heading(path[-1]): (Line(text=entry),)}
    sides = {"before": change.before, "after": change.after}
    return cells_of(path, entry, content, {name: row for name, row in sides.items() if row})


def _pairs(old: dict[str, Cell], new: dict[str, Cell]) -> tuple[Pair, ...]:
    """Return the parts that are not the same; the words that only one of them has are marked."""
    found = []
    for title in dict.fromkeys((*old, *new)):
        before, after = old.get(title, ()), new.get(title, ())
        texts, others = ([(line.label, line.text) for line in cell] for cell in (before, after))
        if texts != others:
            old_cell = tuple(_marked(line, dict(others)) for line in before)
            found.append((title, old_cell, tuple(_marked(line, dict(texts)) for line in after)))
    return tuple(found)


def _marked(line: Line, others: dict[str, str]) -> Line:
    """Return a line with the words marked that the other has not; whole words, in their order.

    A text with nothing in common with the other has no marks.
    """
    words, other = line.text.split(" "), others.get(line.label, "").split(" ")
    blocks = SequenceMatcher(None, other, words, autojunk=False).get_opcodes()
    parts = [
        (" ".join(words[start:end]), kind != "equal")
        for kind, _, _, start, end in blocks
        if start < end
    ]
    mixed = len({marked for _, marked in parts}) > 1
    return Line(text=line.text, label=line.label, parts=tuple(parts) if mixed else ())
