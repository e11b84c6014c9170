"""Overlays: what one rule set changes in another, and how changes lie on top of each other.

A change is plain data: entries by section and id, and ids to remove. An entry of a section in
`MERGED` is merged member by member, so that a change of a value keeps its meaning; any other entry
is replaced whole. Rows of tables count as entries of their table. Laying changes over each other is
associative, and laying a written change twice is the same as once (tests/unit/rulesets).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import msgspec

Content = Mapping[str, Any]

OPTIONAL = ("assumptions", "work", "surcharges", "mesh")
"""Sections that are there only where some file of a chain writes them: files published before
these sections existed keep their content, and so their digests."""

SECTIONS = (
    *("sources", "values", "bill", "tools", "cautions", "zones"),
    *OPTIONAL,
    "examples",
)
"""Sections whose entries stand directly under their id; `tables` has rows under each table."""

MERGED = ("values", "assumptions", "mesh")
"""Sections whose entries are merged member by member; any other entry is replaced whole."""

OWN = ("id", "version", "effective", "status", "title", "change", "approved_by", "based_on")
"""Members of the head that belong to one file, and are never inherited."""


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """What the files of one kind are made of, besides their head.

    `sections` have entries by id, of which those in `merged` are merged member by member;
    `inherited` members stay as they were unless they are written anew; `optional` sections are
    there only where some file writes them.
    """

    sections: tuple[str, ...]
    inherited: tuple[str, ...]
    merged: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    tables: bool = False


RULES = Shape(
    sections=SECTIONS, inherited=("units",), merged=MERGED, optional=OPTIONAL, tables=True
)
"""The shape of rule files."""


def lay(base: Content, change: Content, shape: Shape = RULES) -> dict[str, Any]:
    """Return the content that `change` makes of `base`.

    What is removed goes first, what is replaced keeps its place, what is new comes last. Unknown
    ids in `remove` are passed over here; `faults` of a written overlay are told when it is judged.
    """
    removed = change.get("remove", {})
    laid: dict[str, Any] = {name: change[name] for name in OWN if name in change}
    laid.update(
        {
            name: (change if name in change else base)[name]
            for name in shape.inherited
            if name in change or name in base
        }
    )
    for section in shape.sections:
        if section in shape.optional and section not in base and section not in change:
            continue
        laid[section] = _entries(
            base.get(section, {}),
            change.get(section, {}),
            removed.get(section, ()),
            merge=section in shape.merged,
        )
    if shape.tables:
        laid["tables"] = _tables(base.get("tables", {}), change.get("tables", {}), removed)
    return laid


def compose(first: Content, second: Content, shape: Shape = RULES) -> dict[str, Any]:
    """Return the one change that does what `first` and then `second` does."""
    joined = lay(first, second, shape)
    removed: dict[str, Any] = {}
    for change in (first, second):
        for section, ids in change.get("remove", {}).items():
            if section == "tables":
                tables = removed.setdefault("tables", {})
                for table, rows in ids.items():
                    tables[table] = _both(tables.get(table, ()), rows)
            else:
                removed[section] = _both(removed.get(section, ()), ids)
    if removed:
        joined["remove"] = removed
    return joined


def _both(first: Any, second: Any) -> list[str]:  # noqa: ANN401
    return list(dict.fromkeys((*first, *second)))


def _tables(base: Content, change: Content, removed: Content) -> dict[str, Any]:
    gone = removed.get("tables", {})
    laid: dict[str, Any] = {}
    for name in dict.fromkeys((*base, *change)):
        below, above = base.get(name, {}), change.get(name, {})
        rows = _entries(below.get("rows", {}), above.get("rows", {}), gone.get(name, ()))
        laid[name] = {**below, **above, "rows": rows}
    for name in gone:
        laid.setdefault(name, {"rows": {}})
    return laid


def _entries(
    base: Content,
    change: Content,
    removed: Collection[str],
    *,
    merge: bool = False,
) -> dict[str, Any]:
    laid = {name: entry for name, entry in base.items() if name not in removed}
    for name, entry in change.items():
        laid[name] = {**laid[name], **entry} if merge and name in laid else entry
    return laid
