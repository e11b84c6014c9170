"""What differs between two rule sets: each entry before and after, and whether it is stricter.

Stricter asks more of the work or allows less; looser the other way; neutral is neither; wording
changes what is said and no answer. A change that is stricter in one way and looser in another
counts as looser, for that is what someone must look at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

import msgspec

from service.publishing.quoting import quoting_class
from service.publishing.strictness import (
    Classed,
    caution_class,
    item_class,
    tool_class,
    value_class,
    zone_class,
)
from service.publishing.table_classes import order_class, row_class
from service.rulesets.overlay import OPTIONAL, SECTIONS
from service.rulesets.resolve import at
from service.rulesets.ruleset import RuleSet
from service.rulesets.values import LAID_OUT

Affects = Literal[
    "sizing",
    "layout",
    "materials",
    "suitability",
    "cautions",
    "tools",
    "assumptions",
    "labour",
    "weight",
    "text",
]


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs; `before` or `after` is null where it was added or removed.

    Where lines of the `bill`, or rows of a table (`tables.attachment.order`), change places, they
    are the names in both orders.
    """

    entry: str
    affects: Affects
    classed: Classed
    before: Any
    after: Any
    source: str | None


def changes(before: RuleSet, after: RuleSet) -> tuple[Change, ...]:
    """Return every entry that differs, in the order of the sections."""
    return tuple(_changes(before, after))


def loosens(before: RuleSet, after: RuleSet) -> list[Change]:
    """Return the changes that ask less than before."""
    return [change for change in changes(before, after) if change.classed == "looser"]


def _changes(before: RuleSet, after: RuleSet) -> Iterator[Change]:
    for path in _paths(before, after):
        old, new = at(before.content, path), at(after.content, path)
        if old != new:
            yield Change(
                entry=".".join(path),
                affects=_affects(path),
                classed=_classed(path, old, new, before, after),
                before=old,
                after=new,
                source=_source(new if new is not None else old, after, before),
            )
    yield from _order_changes(before, after)


def _order_changes(before: RuleSet, after: RuleSet) -> Iterator[Change]:
    """Yield the bill whose lines, and each table whose rows, stand in another order."""
    if moved := _moved(before, after, ("bill",)):
        yield _order_change(("bill",), moved, "neutral")
    for table in after.tables:
        if table in before.tables and (moved := _moved(before, after, ("tables", table, "rows"))):
            yield _order_change(
                ("tables", table, "order"), moved, order_class(table, before, after)
            )


def _moved(
    before: RuleSet, after: RuleSet, path: tuple[str, ...]
) -> tuple[list[str], list[str]] | None:
    """Return the names in both orders where those that both have change places."""
    old, new = (list(at(rules.content, path) or {}) for rules in (before, after))
    both = set(old) & set(new)
    same = [name for name in old if name in both] == [name for name in new if name in both]
    return None if same else (old, new)


def _order_change(
    path: tuple[str, ...], moved: tuple[list[str], list[str]], classed: Classed
) -> Change:
    return Change(
        entry=".".join(path),
        affects=_affects(path),
        classed=classed,
        before=moved[0],
        after=moved[1],
        source=None,
    )


def _paths(before: RuleSet, after: RuleSet) -> Iterator[tuple[str, ...]]:
    """Yield the path of each entry that either rule set has."""
    yield ("units",)
    for section in SECTIONS:
        for name in _names(before, after, (section,)):
            yield (section, name)
    for table in _names(before, after, ("tables",)):
        yield ("tables", table, "means")
        yield ("tables", table, "hit_policy")
        for row in _names(before, after, ("tables", table, "rows")):
            yield ("tables", table, "rows", row)


def _names(before: RuleSet, after: RuleSet, path: tuple[str, ...]) -> list[str]:
    found = (at(before.content, path) or {}, at(after.content, path) or {})
    return list(dict.fromkeys(name for part in found for name in part))


_SECTION_AFFECTS: dict[str, Affects] = {
    "bill": "materials",
    "tools": "tools",
    "cautions": "cautions",
    "tables": "suitability",
    "zones": "layout",
    "assumptions": "assumptions",
    "work": "labour",
    "surcharges": "labour",
    "mesh": "weight",
}
_VALUE_AFFECTS: dict[str, Affects] = {
    "mesh_allowance": "materials",
    "usual_corners": "materials",
    "usual_clearance": "suitability",
    **dict.fromkeys(LAID_OUT, "layout"),
}


_CLASSES = {
    "bill": item_class,
    "cautions": caution_class,
    "tools": tool_class,
    "zones": zone_class,
}


def _affects(path: tuple[str, ...]) -> Affects:
    if path[0] == "values":
        return _VALUE_AFFECTS.get(path[1], "sizing")
    return _SECTION_AFFECTS.get(path[0], "text")


def _classed(
    path: tuple[str, ...],
    old: Any,  # noqa: ANN401
    new: Any,  # noqa: ANN401
    before: RuleSet,
    after: RuleSet,
) -> Classed:
    section, name = path[0], path[-1]
    if section == "values":
        return value_class(name, old, new, before, after)
    if section == "tables":
        return row_class(path, before, after)
    if section in _CLASSES:
        return _CLASSES[section](name, before, after)
    if section in OPTIONAL:
        return quoting_class(section, name, before, after)
    return "neutral" if section == "units" else "wording"


def _source(entry: Any, *rulesets: RuleSet) -> str | None:  # noqa: ANN401
    """Return the title of an entry's source."""
    source = entry.get("source") if isinstance(entry, Mapping) else None
    for rules in rulesets:
        found = rules.content["sources"].get(source)
        if found:
            return str(found["title"])
    return None
