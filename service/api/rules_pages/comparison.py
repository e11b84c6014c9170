"""What differs between two versions, before and after, as a page shows it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import Any

import msgspec

from service.api.rules_pages.entries import (
    Cell,
    Content,
    Line,
    cells,
    columns,
    row_columns,
    section_title,
)
from service.api.rules_pages.version import address
from service.api.rules_pages.words import heading, in_words, text_of
from service.publishing.changes import Change, changes
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.model import join

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


class Pair(msgspec.Struct, frozen=True):
    """What two versions say of one thing; the words that only one of them has are marked."""

    title: str
    before: Cell
    after: Cell


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
    groups: dict[str, tuple[Difference, ...]]

    @property
    def looser(self) -> list[Difference]:
        """Return the differences to look at first."""
        found = (one for group in self.groups.values() for one in group)
        return [one for one in found if one.change.classed == "looser"]


def comparison(before: RuleSet, after: RuleSet) -> Comparison:
    """Return what differs between two versions."""
    found = changes(before, after)
    groups: dict[str, tuple[Difference, ...]] = {}
    for change in sorted(found, key=lambda change: list(GROUPS).index(change.affects)):
        difference = _difference(change, before, after)
        groups[change.affects] = (*groups.get(change.affects, ()), difference)
    sides = (before.content, after.content)
    head = (
        _pair(heading(name), *((Line(text=text_of(side.get(name))),) for side in sides))
        for name in _HEAD
    )
    return Comparison(
        before=before,
        after=after,
        head=tuple(pair for pair in head if pair.before != pair.after),
        summary=_summary(before.name, after.name, found),
        groups=groups,
    )


def _summary(before: str, after: str, found: tuple[Change, ...]) -> str:
    """Return how much differs, as a sentence."""
    if not found:
        return f"{before} and {after} rule the same."
    counts = Counter(str(change.classed) for change in found)
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
        kind = f"{'row of' if len(path) > 3 else 'table'} {in_words(path[1])}"
        anchor = change.entry if len(path) > 3 else ".".join(path[:2])
    elif path == ("units",):
        anchor = "head"
    pairs = tuple(_pairs(path, change, before.content, after.content))
    shows_source = any(pair.title == "Source" for pair in pairs)
    added, gone = change.before is None, change.after is None
    return Difference(
        change=change,
        name=heading(path[-1]),
        kind=kind,
        verb="added" if added else "removed" if gone else "changed",
        pairs=pairs,
        before_href="" if added else f"{address(before.name)}#{anchor}",
        after_href="" if gone else f"{address(after.name)}#{anchor}",
        source="" if shows_source else change.source or "",
    )


def _pairs(path: tuple[str, ...], change: Change, old: Content, new: Content) -> Iterator[Pair]:
    """Yield the members that are not the same."""
    chosen = columns(path[0])
    if path[0] == "tables" and len(path) > 3:
        rows = [row for row in (change.before, change.after) if row is not None]
        chosen = row_columns(path[1], rows)

    def shown(entry: Any, content: Content) -> dict[str, Cell]:  # noqa: ANN401
        if entry is None:
            return {}
        if isinstance(entry, list):
            return {"Order": (Line(text=", ".join(in_words(name) for name in entry)),)}
        if isinstance(entry, str):
            return {heading(path[-1]): (Line(text=entry),)}
        return cells(chosen, path[-1], entry, content)

    before, after = shown(change.before, old), shown(change.after, new)
    for title in dict.fromkeys((*before, *after)):
        sides = before.get(title, ()), after.get(title, ())
        said, now = ([(line.label, line.text) for line in cell] for cell in sides)
        if said != now:
            yield _pair(title, *sides)


def _pair(title: str, before: Cell, after: Cell) -> Pair:
    old, new = ({line.label: line.text for line in cell} for cell in (before, after))
    return Pair(
        title,
        tuple(_marked(line, new) for line in before),
        tuple(_marked(line, old) for line in after),
    )


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
