"""What differs between two rule sets: each entry before and after, and whether it is stricter.

Stricter requires more or allows less, and looser is the opposite. Neutral is neither, and wording
changes text but no answer. A change that is stricter in one respect and looser in another counts as
looser, because someone must review it. Entries are compared as the calculation reads them, so
203.2 mm instead of 8 in is wording. Hours, assumptions, and weights are never stricter or looser.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, Literal

import msgspec

from gapwright.pricebooks.build import PRICE_BOOKS
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.quantity.parse import QuantityError
from gapwright.rulesets.kind import Version
from gapwright.rulesets.measure import bound
from gapwright.rulesets.overlay import OPTIONAL, RULES, Shape, at, source_title
from gapwright.rulesets.proof import axes_of, deciding
from gapwright.rulesets.ruleset import (
    Assumption,
    LaborFactor,
    Need,
    Ratio,
    RuleSet,
    Task,
    Zone,
)
from gapwright.rulesets.tables import Condition, HitPolicy, Range, Row
from gapwright.rulesets.values import LAID_OUT, VALUES
from gapwright.rulesets.vocabulary import TABLES, VERDICTS

Affects = Literal[
    "sizing",
    "layout",
    "materials",
    "suitability",
    "cautions",
    "tools",
    "assumptions",
    "labor",
    "weight",
    "text",
]
Classed = Literal["stricter", "looser", "neutral", "wording"]
_SECTION_AFFECTS: dict[str, Affects] = {
    "bill": "materials",
    "tools": "tools",
    "cautions": "cautions",
    "tables": "suitability",
    "zones": "layout",
    "assumptions": "assumptions",
    "work": "labor",
    "labor_factors": "labor",
    "mesh": "weight",
}
_VALUE_AFFECTS: dict[str, Affects] = {
    "waste_factor": "materials",
    "default_corners": "materials",
    "default_clearance": "suitability",
    **dict.fromkeys(LAID_OUT, "layout"),
}
_SEVERITIES = ("notice", "caution", "warning", "danger")


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs; `before` or `after` is null where it was added or removed.

    Where lines of the `bill`, or rows of a table (`tables.attachment.order`), change places, they
    are the names in both orders.
    """

    entry: str
    """The entry, by its dotted path."""
    affects: Affects
    """The part of an answer that it affects."""
    classification: Classed
    """Whether the change makes the rules looser or stricter, neither, or changes words only."""
    before: Any
    """The entry in the older version, any JSON value; null if it was added."""
    after: Any
    """The entry in the newer version, any JSON value; null if it was removed."""
    source: str | None
    """The source that the newer version names, or null."""


class PriceChange(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that differs; `before` or `after` is null where it was added or removed."""

    entry: str
    """The entry, by its dotted path."""
    before: Any
    """The entry in the older version, any JSON value; null if it was added."""
    after: Any
    """The entry in the newer version, any JSON value; null if it was removed."""
    source: str | None
    """The source that the newer version names, or null."""


def changes(before: RuleSet, after: RuleSet) -> tuple[Change, ...]:
    """Return every entry that differs, in the order of the sections."""
    entries = (
        Change(affects=_affects(path), classification=_classed(path, before, after), **said)
        for path, said in _differences(RULES, before, after)
    )
    return (*entries, *_order_changes(before, after))


def price_changes(before: PriceBook, after: PriceBook) -> tuple[PriceChange, ...]:
    """Return every entry that differs, in the order of the sections."""
    return tuple(PriceChange(**said) for _, said in _differences(PRICE_BOOKS.shape, before, after))


def _differences(
    shape: Shape, before: Version, after: Version
) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """Yield the path of each entry that differs, and what it says in both versions."""
    for path, old, new in shape.differences(before.content, after.content):
        said = new if new is not None else old
        source = source_title(said, after.content, before.content)
        yield path, {"entry": ".".join(path), "before": old, "after": new, "source": source}


def loosens(before: RuleSet, after: RuleSet) -> list[Change]:
    """Return the changes that are looser than before."""
    return [change for change in changes(before, after) if change.classification == "looser"]


def _order_changes(before: RuleSet, after: RuleSet) -> Iterator[Change]:
    """Yield the bill whose lines, and each table whose rows, are in another order."""
    tables = [("tables", name, "rows") for name in after.tables if name in before.tables]
    for path in (("bill",), *tables):
        old, new = (list(at(rules.content, path) or {}) for rules in (before, after))
        both = set(old) & set(new)
        if [name for name in old if name in both] != [name for name in new if name in both]:
            yield Change(
                entry=f"tables.{path[1]}.order" if len(path) > 1 else "bill",
                affects=_affects(path),
                classification=_order_class(path[1], before, after) if len(path) > 1 else "neutral",
                before=old,
                after=new,
                source=None,
            )


def _affects(path: tuple[str, ...]) -> Affects:
    if path[0] == "values":
        return _VALUE_AFFECTS.get(path[1], "sizing")
    return _SECTION_AFFECTS.get(path[0], "text")


def _classed(path: tuple[str, ...], before: RuleSet, after: RuleSet) -> Classed:
    """Return how the entry at a path changed."""
    section, name = path[0], path[-1]
    if section == "tables" and len(path) < 4:
        return "wording" if name == "description" else "neutral"
    if section not in (*_CLASSES, "zones", *OPTIONAL):
        return "neutral" if section == "units" else "wording"
    old, new = _built(path, before), _built(path, after)
    if section in OPTIONAL:
        return "wording" if old == new else "neutral"
    if section == "zones":  # compared with what held there before
        return _zone(old or before.zones["standard"], new, before, after)
    return _CLASSES[section](old, new)


def _built(path: tuple[str, ...], rules: RuleSet) -> Any:  # noqa: ANN401 - an entry, or None
    """Return what the calculation takes of an entry; None where there is none.

    An entry for quotes is without its words. With a value comes the range that overlays may use,
    with a caution whether it is locked.
    """
    section, name = path[0], path[-1]
    entry = at(rules.content, path)
    if entry is None:
        return None
    match section:
        case "values":
            found: Any = (name, getattr(rules.values, name), entry.get("allowed"))
        case "tables":
            found = _by_id(rules.tables[path[1]].rows, name), path[1]
        case "mesh":
            found = getattr(rules.mesh, "wire_nm" if name == "wire" else name)
        case "zones" | "assumptions":
            found = getattr(rules, section)[name]
        case _:
            found = _by_id(getattr(rules, section), name)
    if section == "cautions":
        return found, bool(entry.get("locked"))
    if isinstance(found, (Assumption, Task, LaborFactor)):
        return msgspec.structs.replace(found, description="")
    return found


def _by_id(entries: Iterable[Any], name: str) -> Any:  # noqa: ANN401 - an entry, or None
    return next((entry for entry in entries if entry.id == name), None)


def _value(old: Any, new: Any) -> Classed:  # noqa: ANN401 - as `_built`
    """Return how a value changed, and the range in which overlays may move it."""
    if old is None or new is None:
        return "neutral"
    name, was, old_range = old
    _, now, new_range = new
    return _worst(_moved(name, was, now), _range(VALUES[name].kind, old_range, new_range))


def _moved(name: str, old: Any, new: Any) -> Classed:  # noqa: ANN401 - any figure
    """Return how a value changed; `VALUES` says which way is stricter."""
    way = VALUES[name].stricter
    if old == new or not way:
        return "wording" if old == new else "neutral"
    return _order(old, new) if way == "more" else _order(new, old)


def _range(kind: str, old: Any, new: Any) -> Classed:  # noqa: ANN401 - plain data
    """Return how the range changed in which overlays may move a value."""
    if old is None or new is None:
        return "wording" if old == new else "stricter" if old is None else "looser"
    try:
        before, after = ([bound(kind, e[end]) for end in ("min", "max")] for e in (old, new))
    except QuantityError:
        return "neutral"
    stricter = after[0] > before[0] or after[1] < before[1]
    return _either(stricter, after[0] < before[0] or after[1] > before[1])


def _caution(old: Any, new: Any) -> Classed:  # noqa: ANN401 - as `_built`
    """Return how a caution changed: dropping, softening or narrowing one is looser."""
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    ranks = [_SEVERITIES.index(caution.severity) for caution, _ in (old, new)]
    return _worst(
        _matches(dict(old[0].when), dict(new[0].when)), _order(*ranks), _order(old[1], new[1])
    )


def _tool(old: Any, new: Any) -> Classed:  # noqa: ANN401 - as `_built`
    """Return how a tool changed: needing it no more, or in fewer cases, is looser.

    What only helps asks for nothing, so it is neutral whether it is there.
    """
    needed = [tool is not None and tool.need == "needed" for tool in (old, new)]
    if needed != [True, True]:
        return _order(*needed) if needed[0] != needed[1] else "neutral"
    return _worst(_matches(dict(old.when), dict(new.when)), "neutral")


def _item(old: Any, new: Any) -> Classed:  # noqa: ANN401 - as `_built`
    """Return how a bill line changed: asking for less of it is looser.

    Pieces and a length cannot be compared, so a line that turns from one to the other is looser.
    """
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    if old.measured != new.measured:
        return "looser"
    return _worst(
        *_needs(old.needs, new.needs),
        *_needs(old.counted, new.counted),
        _order(old.spare, new.spare),
        _order(old.minimum, new.minimum),
        _matches(dict(old.when), dict(new.when)),
        "wording" if old.pack == new.pack else "neutral",
    )


def _needs(old: tuple[Need, ...], new: tuple[Need, ...]) -> Iterator[Classed]:
    """Yield how each need changed; one that is added is stricter, one that is dropped looser."""
    before, after = ({need.id: need for need in needs} for needs in (old, new))
    for name in before.keys() | after.keys():
        one, other = before.get(name), after.get(name)
        if one is None or other is None:
            yield "stricter" if one is None else "looser"
            continue
        if one.driver != other.driver:
            yield "looser"
        yield _order(_portion(one), _portion(other))
        yield _matches(dict(one.when), dict(other.when))


def _portion(ratio: Need | Ratio) -> Fraction:
    """Return how much of an item one unit of its driver takes."""
    return Fraction(ratio.each, ratio.one_per)


def _zone(old: Zone, new: Zone | None, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a zone changed; one that is dropped is looser."""
    if new is None:
        return "looser"
    names = old.changed | new.changed
    classes = [_moved(n, getattr(old.values, n), getattr(new.values, n)) for n in names]
    for key in old.ratios.keys() | new.ratios.keys():
        was, now = _zone_portion(old, before, *key), _zone_portion(new, after, *key)
        if was is not None and now is not None:
            classes.append(_order(was, now))
    return _worst(*classes)


def _zone_portion(zone: Zone, rules: RuleSet, item: str, need: str) -> Fraction | None:
    """Return the ratio of a need inside a zone: the zone's own, or the standard one."""
    line = _by_id(rules.bill, item)
    ratio = zone.ratios.get((item, need)) or (_by_id(line.needs, need) if line else None)
    return None if ratio is None else _portion(ratio)


def _matches(old: Mapping[str, Condition], new: Mapping[str, Condition]) -> Classed:
    """Return how conditions changed: to match more is stricter, to match less is looser."""
    return _either(not _within(new, old), not _within(old, new))


def _within(one: Mapping[str, Condition], other: Mapping[str, Condition]) -> bool:
    """Return whether all that fulfils conditions `one` fulfils `other` as well."""
    return all(name in one and _part(one[name], wanted) for name, wanted in other.items())


def _part(one: Condition, other: Condition) -> bool:
    if isinstance(one, Range) and isinstance(other, Range):
        starts = other.least is None or (one.least is not None and one.least >= other.least)
        ends = other.below is None or (one.below is not None and one.below <= other.below)
        return starts and ends
    return isinstance(one, frozenset) and isinstance(other, frozenset) and one <= other


def _row(old: tuple[Row, str] | None, new: tuple[Row, str] | None) -> Classed:
    """Return how a table changed at a row, given with the table's name.

    A row that is dropped, milder, or matches less of what had a grave verdict, is looser, and so is
    one that decides what was left to a survey. Of a table without verdicts, other rows are neutral.
    """
    row, table = old or new or (None, "")
    if old is None or new is None:
        if row is None or table != "suitability" or row.output_value == "suitable":
            return "neutral"
        return "stricter" if old is None else "looser"
    decision = _decision(old[0], new[0], table)
    if table == "suitability":
        return _worst(decision, _matches(old[0].when, new[0].when))
    return _worst(decision, "wording" if old[0].when == new[0].when else "neutral")


def _decision(old: Row, new: Row, table: str) -> Classed:
    """Return how what a row says changed; of free text only the words do.

    To leave the decision to a survey is stricter than to decide.
    """
    if table == "suitability":
        ranks = [VERDICTS.index(row.output_value) for row in (old, new)]
        return _order(ranks[1], ranks[0])
    is_open = [row.output_value == "undecided" for row in (old, new)]
    if is_open[0] != is_open[1]:
        return _order(*is_open)
    return "wording" if _chosen(old, table) == _chosen(new, table) else "neutral"


def _chosen(row: Row, table: str) -> dict[str, str]:
    """Return the outputs of a row that are one of a table's own words."""
    said: Any = row.then
    return {name: text for name, text in said.items() if TABLES[table].outputs[name]}


def _order_class(table: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return what another order of the rows of a table changes.

    Exact: in every cell the row that decides is compared with the one that would decide in the old
    order. Where all rows that match have a say, only the order of reasons changes.
    """
    now = after.tables[table]
    if now.policy in (HitPolicy.COLLECT, HitPolicy.UNIQUE):
        return "neutral"
    was = {row.id: place for place, row in enumerate(before.tables[table].rows)}
    rows = tuple(sorted(now.rows, key=lambda row: was.get(row.id, len(was))))
    old = msgspec.structs.replace(now, rows=rows)
    cells = [deciding(axes_of(one), len(one.rows)).ravel().tolist() for one in (old, now)]
    pairs = set(zip(*cells, strict=True))
    changed = [(old.ranked[one], now.ranked[other]) for one, other in pairs]
    decisions = [_decision(*pair, table) for pair in changed if pair[0].id != pair[1].id]
    return _worst("neutral", *decisions)


def _order(old: Any, new: Any) -> Classed:  # noqa: ANN401 - any figure
    """Return `stricter` where a figure rose, `looser` where it fell."""
    return "wording" if old == new else "stricter" if new > old else "looser"


def _either(stricter: bool, looser: bool) -> Classed:
    """Return which of the two is true; looser where both are."""
    return "looser" if looser else "stricter" if stricter else "wording"


def _worst(*classes: Classed) -> Classed:
    """Return the class that someone must look at first; `wording` for none."""
    ranked: tuple[Classed, ...] = ("looser", "stricter", "neutral")
    return next(
        (classification for classification in ranked if classification in classes), "wording"
    )


_CLASSES: dict[str, Callable[[Any, Any], Classed]] = {
    "values": _value,
    "tables": _row,
    "bill": _item,
    "cautions": _caution,
    "tools": _tool,
}
