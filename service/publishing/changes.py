"""What differs between two rule sets: each entry before and after, and whether it is stricter.

Stricter asks more of the work or allows less; looser the other way; neutral is neither; wording
changes what is said and no answer. A change that is stricter in one way and looser in another
counts as looser, for that is what someone must look at.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

import msgspec

from service.publishing.strictness import (
    Classed,
    caution_class,
    item_class,
    quoting_class,
    tool_class,
    value_class,
    zone_class,
)
from service.publishing.table_classes import order_class, row_class
from service.rulesets.overlay import OPTIONAL, RULES, at, source_title
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
    entries = (
        Change(
            entry=".".join(path),
            affects=_affects(path),
            classed=_classed(path, old, new, before, after),
            before=old,
            after=new,
            source=source_title(new if new is not None else old, after.content, before.content),
        )
        for path, old, new in RULES.differences(before.content, after.content)
    )
    return (*entries, *_order_changes(before, after))


def loosens(before: RuleSet, after: RuleSet) -> list[Change]:
    """Return the changes that ask less than before."""
    return [change for change in changes(before, after) if change.classed == "looser"]


def _order_changes(before: RuleSet, after: RuleSet) -> Iterator[Change]:
    """Yield the bill whose lines, and each table whose rows, stand in another order."""
    lists = [(("bill",), ("bill",))]
    lists += [
        (("tables", t, "rows"), ("tables", t, "order")) for t in after.tables if t in before.tables
    ]
    for path, entry in lists:
        old, new = (list(at(rules.content, path) or {}) for rules in (before, after))
        both = set(old) & set(new)
        if [name for name in old if name in both] != [name for name in new if name in both]:
            yield Change(
                entry=".".join(entry),
                affects=_affects(path),
                classed=order_class(path[1], before, after) if len(path) > 1 else "neutral",
                before=old,
                after=new,
                source=None,
            )


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
