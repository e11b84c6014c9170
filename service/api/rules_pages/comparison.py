"""What differs between two versions, before and after, as a page shows it."""

from __future__ import annotations

from collections import Counter
from difflib import SequenceMatcher
from typing import Any

import msgspec

from service.api.rules_pages.entries import (
    Cell,
    Content,
    Line,
    entries_of,
    rows_of,
    section_title,
)
from service.api.rules_pages.version import address
from service.api.rules_pages.words import heading, in_words, text_of
from service.publishing.changes import Change, changes
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables import join

CLASSES = {
    "stricter": "asks for more, or allows less",
    "looser": "asks for less, or allows more",
    "neutral": "neither stricter nor looser",
    "wording": "said otherwise; no answer changes by it",
}
"""What the classes of changes mean."""
GROUPS = {
    "sizing": "Sizing: strip and channel",
    "layout": "Layout: pieces, laps and spans",
    "materials": "Materials: what is bought, and how much",
    "suitability": "Suitability: whether it may be done",
    "cautions": "Cautions",
    "tools": "Tools",
    "assumptions": "Assumptions: what a quote takes when it is not told",
    "labour": "Labour: how long work takes",
    "weight": "Weight of the mesh",
    "text": "Text: sources, examples and the like",
}
"""What a change can affect, in reading order."""
_HEAD = ("title", "change", "approved_by", "effective", "units", "based_on")

Pair = tuple[str, Cell, Cell]
"""The title of a part, and what two versions say of it."""


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs, and the members that are not the same."""

    change: Change
    name: str
    kind: str
    verb: str
    pairs: tuple[Pair, ...]
    before_href: str
    after_href: str
    source: str


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """Two versions side by side; differences are grouped by what they affect."""

    before: RuleSet
    after: RuleSet
    head: tuple[Pair, ...]
    summary: str
    looser: tuple[Difference, ...]
    groups: dict[str, list[Difference]]


def comparison(before: RuleSet, after: RuleSet) -> Comparison:
    """Return what differs between two versions."""
    found = [_difference(change, before, after) for change in changes(before, after)]
    groups: dict[str, list[Difference]] = {
        group: [one for one in found if one.change.affects == group] for group in GROUPS
    }
    old, new = _head(before), _head(after)
    return Comparison(
        before=before,
        after=after,
        head=_pairs(old, new),
        summary=_summary(before.name, after.name, found),
        looser=tuple(one for one in found if one.change.classed == "looser"),
        groups={group: members for group, members in groups.items() if members},
    )


def _head(rules: RuleSet) -> dict[str, Cell]:
    return {heading(name): (Line(text=text_of(rules.content.get(name))),) for name in _HEAD}


def _summary(before: str, after: str, found: list[Difference]) -> str:
    """Return how much differs, as a sentence."""
    if not found:
        return f"{before} and {after} rule the same."
    counts = Counter(str(one.change.classed) for one in found)
    parts = [
        f"{counts[name]} {'in wording only' if name == 'wording' else name}"
        for name in CLASSES
        if counts[name]
    ]
    entries = "1 entry differs" if len(found) == 1 else f"{len(found)} entries differ"
    return f"{entries} from {before} to {after}: {join(parts, 'and')}."


def _difference(change: Change, before: RuleSet, after: RuleSet) -> Difference:
    path = tuple(change.entry.split("."))
    kind, anchor = section_title(path[0]).lower(), change.entry
    if path[0] == "tables":
        is_row = len(path) > 3
        kind = f"{'row of' if is_row else 'table'} {in_words(path[1])}"
        anchor = change.entry if is_row else ".".join(path[:2])
    elif path == ("units",):
        anchor = "head"
    old, new = (
        _shown(path, change, entry, rules.content)
        for entry, rules in ((change.before, before), (change.after, after))
    )
    pairs = _pairs(old, new)
    added, gone = change.before is None, change.after is None
    return Difference(
        change=change,
        name=heading(path[-1]),
        kind=kind,
        verb="added" if added else "removed" if gone else "changed",
        pairs=pairs,
        before_href="" if added else f"{address(before.name)}#{anchor}",
        after_href="" if gone else f"{address(after.name)}#{anchor}",
        source="" if any(title == "Source" for title, *_ in pairs) else change.source or "",
    )


def _shown(
    path: tuple[str, ...],
    change: Change,
    entry: Any,  # noqa: ANN401 - any plain data
    content: Content,
) -> dict[str, Cell]:
    """Return what one version says of an entry, by titles; nothing where it has no such entry."""
    if entry is None:
        return {}
    if isinstance(entry, list):
        return {"Order": (Line(text=", ".join(in_words(name) for name in entry)),)}
    if isinstance(entry, str):
        return {heading(path[-1]): (Line(text=entry),)}
    if path[0] == "tables" and len(path) > 3:
        rows = [row for row in (change.before, change.after) if row is not None]
        return rows_of(path[1], rows, content)(path[-1], entry)
    return entries_of(path[0], content)(path[-1], entry)


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
