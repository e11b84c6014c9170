"""What differs between two versions, before and after, as a page shows it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import msgspec

from service.api.rules_pages.cells import Cell, Column, Content, Line, cells, said
from service.api.rules_pages.columns import columns
from service.api.rules_pages.grids import section_title
from service.api.rules_pages.origins import address
from service.api.rules_pages.pairs import Pair, pair
from service.api.rules_pages.rows import row_columns
from service.api.rules_pages.words import heading, in_words, told
from service.publishing.changes import Change, changes
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.words import join


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs, its class in words, and the members that are not the same."""

    entry: str
    name: str
    kind: str
    classed: str
    means: str
    verb: str
    pairs: tuple[Pair, ...]
    before_href: str
    after_href: str
    source: str


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """The entries that affect the same part of an answer."""

    anchor: str
    title: str
    differences: tuple[Difference, ...]


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """Two versions side by side."""

    before: str
    after: str
    before_href: str
    after_href: str
    head: tuple[Pair, ...]
    summary: str
    looser: tuple[Difference, ...]
    groups: tuple[Group, ...]


CLASSES = {
    "stricter": "asks for more, or allows less",
    "looser": "asks for less, or allows more",
    "neutral": "neither stricter nor looser",
    "wording": "said otherwise; no answer changes by it",
}
"""What the classes of changes mean."""
_COUNTED = {"wording": "in wording only"}
_GROUPS = {
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
_HEAD = ("title", "change", "approved_by", "effective", "units", "based_on")


def compared(before: RuleSet, after: RuleSet) -> Compared:
    """Return what differs between two versions, grouped by what it affects."""
    found = changes(before, after)
    groups: dict[str, list[Difference]] = {}
    for change in found:
        groups.setdefault(change.affects, []).append(_difference(change, before, after))
    order = sorted(groups, key=lambda name: list(_GROUPS).index(name) if name in _GROUPS else 99)
    return Compared(
        before=before.name,
        after=after.name,
        before_href=address(before.name),
        after_href=address(after.name),
        head=tuple(_head(before.content, after.content)),
        summary=summary(before.name, after.name, found),
        looser=tuple(d for name in order for d in groups[name] if d.classed == "looser"),
        groups=tuple(
            Group(
                anchor=name, title=_GROUPS.get(name, heading(name)), differences=tuple(groups[name])
            )
            for name in order
        ),
    )


def summary(before: str, after: str, found: tuple[Change, ...]) -> str:
    """Return how much differs, as a sentence."""
    if not found:
        return f"{before} and {after} rule the same."
    counts = Counter(str(change.classed) for change in found)
    parts = [f"{counts[name]} {_COUNTED.get(name, name)}" for name in CLASSES if counts[name]]
    entries = "1 entry differs" if len(found) == 1 else f"{len(found)} entries differ"
    return f"{entries} from {before} to {after}: {join(parts, 'and')}."


def _difference(change: Change, before: RuleSet, after: RuleSet) -> Difference:
    path = tuple(change.entry.split("."))
    anchor = _anchor(path)
    pairs = tuple(_pairs(path, change, before.content, after.content))
    told_below = any(one.title == "Source" for one in pairs)
    gone, new = change.after is None, change.before is None
    return Difference(
        entry=change.entry,
        name=heading(path[-1]),
        kind=_kind(path),
        classed=change.classed,
        means=CLASSES[change.classed],
        verb="added" if new else "removed" if gone else "changed",
        pairs=pairs,
        before_href="" if new else f"{address(before.name)}#{anchor}",
        after_href="" if gone else f"{address(after.name)}#{anchor}",
        source="" if told_below else change.source or "",
    )


def _anchor(path: tuple[str, ...]) -> str:
    """Return where a version's page tells of an entry."""
    if path[0] == "tables" and len(path) == 3:
        return ".".join(path[:2])
    return "head" if path == ("units",) else ".".join(path)


def _kind(path: tuple[str, ...]) -> str:
    """Return what an entry is, such as a row of a table."""
    if path[0] == "tables":
        what = "row" if len(path) > 3 else "table"
        return f"{what} of {in_words(path[1])}" if what == "row" else f"table {in_words(path[1])}"
    return section_title(path[0]).lower()


def _pairs(path: tuple[str, ...], change: Change, old: Content, new: Content) -> Iterator[Pair]:
    """Yield the members that are not the same."""
    chosen = _columns(path, change)
    before, after = (
        _cells(chosen, path, change.before, old),
        _cells(chosen, path, change.after, new),
    )
    for title in dict.fromkeys((*before, *after)):
        found = pair(title, before.get(title, ()), after.get(title, ()))
        if [said(line) for line in found.before] != [said(line) for line in found.after]:
            yield found


def _columns(path: tuple[str, ...], change: Change) -> tuple[Column, ...]:
    if path[0] == "tables" and len(path) > 3:
        sides = {"before": change.before, "after": change.after}
        return row_columns(path[1], {side: row for side, row in sides.items() if row is not None})
    return columns(path[0])


def _cells(
    chosen: tuple[Column, ...],
    path: tuple[str, ...],
    entry: Any,  # noqa: ANN401
    content: Content,
) -> dict[str, Cell]:
    if entry is None:
        return {}
    if isinstance(entry, list):
        return {"Order": (Line(text=", ".join(in_words(name) for name in entry)),)}
    if isinstance(entry, str):
        return {heading(path[-1]): (Line(text=entry),)}
    return cells(chosen, path[-1], entry, content)


def _head(before: Content, after: Content) -> Iterator[Pair]:
    for name in _HEAD:
        sides = [(Line(text=told(side.get(name))),) for side in (before, after)]
        if sides[0] != sides[1]:
            yield pair(heading(name), *sides)
