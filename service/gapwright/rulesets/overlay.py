"""Overlays: what one file changes in another, how it is applied, and what it cannot change.

A change is plain data: entries by section and id, and ids to remove. Rows of tables count as
entries of their table. Applying a change twice is the same as once (tests/unit/rulesets).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

import msgspec

from gapwright.errors import Fault
from gapwright.quantity.parse import QuantityError
from gapwright.rulesets.measure import Faults, Path, bound
from gapwright.rulesets.values import VALUES

Content = Mapping[str, Any]

OWN = ("id", "version", "effective", "status", "title", "change", "approved_by", "based_on")
"""Fields that belong to one file and are never inherited."""


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """What the files of one kind are made of, besides their head.

    `sections` have entries by id, of which those in `merged` are merged member by member where a
    change writes them again; any other entry is replaced whole. `optional` sections are there only
    where some file of a chain writes them: files published before they existed keep their digests.
    `scalars` stay as they were unless a change replaces them. Where `tables` is set there is a
    section of tables, whose rows count as its entries. The order of entries in `ordered` sections
    belongs to the content.
    """

    sections: tuple[str, ...]
    scalars: tuple[str, ...]
    ordered: tuple[str, ...]
    merged: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    tables: bool = False

    def entries(self, content: Content) -> Iterator[tuple[str, ...]]:
        """Yield the path of every scalar, entry and table row of some content."""
        yield from ((name,) for name in self.scalars if name in content)
        yield from ((part, name) for part in self.sections for name in content.get(part, {}))
        for table, entry in content.get("tables", {}).items() if self.tables else ():
            yield from (("tables", table, "rows", row) for row in entry["rows"])

    def differences(
        self, before: Content, after: Content
    ) -> Iterator[tuple[tuple[str, ...], Any, Any]]:
        """Yield the path of each entry that differs, and what it says in both; None for nothing."""
        for path in self._paths(before, after):
            old, new = at(before, path), at(after, path)
            if old != new:
                yield path, old, new

    def _paths(self, *contents: Content) -> Iterator[tuple[str, ...]]:
        """Yield the path of each entry that some content has, section by section."""
        yield from ((name,) for name in self.scalars)
        for section in self.sections:
            yield from ((section, name) for name in _names(contents, (section,)))
        for table in _names(contents, ("tables",)) if self.tables else ():
            yield ("tables", table, "description")
            yield ("tables", table, "hit_policy")
            for row in _names(contents, ("tables", table, "rows")):
                yield ("tables", table, "rows", row)


def at(tree: Any, path: Path) -> Any:  # noqa: ANN401 - any plain data
    """Return the entry at a path of plain data, None where there is none."""
    for step in path:
        tree = tree.get(step) if isinstance(tree, dict) else None
    return tree


def source_title(entry: object, *contents: Content) -> str | None:
    """Return the title of the source that an entry cites, from the first content that has it."""
    source = entry.get("source") if isinstance(entry, Mapping) else None
    for content in contents:
        found = content.get("sources", {}).get(source)
        if found:
            return str(found["title"])
    return None


def _names(contents: Collection[Content], path: tuple[str, ...]) -> list[str]:
    return list(dict.fromkeys(name for content in contents for name in at(content, path) or {}))


OPTIONAL = ("assumptions", "work", "labor_factors", "mesh")
SECTIONS = ("sources", "values", "bill", "tools", "cautions", "zones", *OPTIONAL, "examples")
MERGED = ("values", "assumptions", "mesh")
RULES = Shape(
    sections=SECTIONS,
    scalars=("units",),
    ordered=("bill", "work", "labor_factors"),
    merged=MERGED,
    optional=OPTIONAL,
    tables=True,
)
"""The shape of rule files."""


def lay(base: Content, change: Content, shape: Shape = RULES) -> dict[str, Any]:
    """Return `base` with `change` applied.

    Removals come first. Replaced entries keep their position, and new ones come last. Unknown ids
    in `remove` are ignored here; `removal_faults` reports them.
    """
    removed = change.get("remove", {})
    laid: dict[str, Any] = {name: change[name] for name in OWN if name in change}
    for name in shape.scalars:
        if name in change or name in base:
            laid[name] = (change if name in change else base)[name]
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
    base: Content, change: Content, removed: Collection[str], *, merge: bool = False
) -> dict[str, Any]:
    laid = {name: entry for name, entry in base.items() if name not in removed}
    for name, entry in change.items():
        laid[name] = {**laid[name], **entry} if merge and name in laid else entry
    return laid


def rule_change_faults(base: Content, change: Content) -> list[Fault]:
    """Return every fault of a change against its base.

    It cannot remove unknown entries, remove or change locked ones, or leave the allowed range.
    """
    faults = removal_faults(base, change)
    _check_locked(base, change, faults)
    _check_ranges(base, change, faults)
    return faults


def removal_faults(base: Content, change: Content) -> Faults:
    """Return the faults of `remove`: unknown ids, and ids that are also replaced."""
    faults = Faults()
    for section, ids in change.get("remove", {}).items():
        if section == "tables":
            for table, rows in ids.items():
                known = base["tables"].get(table, {}).get("rows", {})
                again = change.get("tables", {}).get(table, {}).get("rows", {})
                _check_removed(known, again, rows, ("remove", "tables", table), faults)
        else:
            again = change.get(section, {})
            _check_removed(base.get(section, {}), again, ids, ("remove", section), faults)
    return faults


def _check_removed(
    known: Content, again: Content, ids: list[str], path: Path, faults: Faults
) -> None:
    for at, name in enumerate(ids):
        if name not in known:
            faults.add_unknown(
                (*path, at), f"Cannot remove '{name}': the base has no such entry.", name, known
            )
        elif name in again:
            remedy = "To replace an entry, write the new one and do not remove the old one."
            faults.add((*path, at), f"'{name}' is both removed and replaced.", remedy)


def _check_locked(base: Content, change: Content, faults: Faults) -> None:
    cautions = base.get("cautions", {})
    locked = {name for name, entry in cautions.items() if entry.get("locked")}
    cited = {cautions[name]["source"] for name in locked}
    for name in change.get("sources", {}):
        if name in cited and name in base.get("sources", {}):
            problem = "A locked caution cites this source, so it cannot be changed."
            faults.add(("sources", name), problem, "Add your own source under another name.")
    remedy = "Leave it unchanged, and add your own caution."
    for name in change.get("cautions", {}):
        if name in locked:
            problem = "This caution is locked and cannot be changed."
            faults.add(("cautions", name), problem, remedy)
    for at, name in enumerate(change.get("remove", {}).get("cautions", ())):
        if name in locked:
            problem = f"The caution '{name}' is locked and cannot be removed."
            faults.add(("remove", "cautions", at), problem, remedy)


def _check_ranges(base: Content, change: Content, faults: Faults) -> None:
    for name, path, raw in _written_values(change):
        allowed = base.get("values", {}).get(name, {}).get("allowed")
        if not allowed or name not in VALUES:
            continue
        kind = VALUES[name].kind
        try:
            least, most = bound(kind, allowed["min"]), bound(kind, allowed["max"])
            found = [bound(kind, one) for one in (raw if isinstance(raw, list) else [raw])]
        except QuantityError:
            continue  # reported when the value itself is validated
        if not all(least <= one <= most for one in found):
            remedy = f"Expected a value from {allowed['min']} to {allowed['max']}."
            faults.add(path, f"{raw} is outside the range that the base allows.", remedy)


def _written_values(change: Content) -> Iterator[tuple[str, Path, Any]]:
    """Yield the name, place and text of each value, and each end of a range, that is written."""
    for name, entry in change.get("values", {}).items():
        if "value" in entry:
            yield name, ("values", name, "value"), entry["value"]
        for end, limit in (entry.get("allowed") or {}).items():
            yield name, ("values", name, "allowed", end), limit
    for zone, entry in change.get("zones", {}).items():
        for name, raw in entry.get("values", {}).items():
            yield name, ("zones", zone, "values", name), raw
