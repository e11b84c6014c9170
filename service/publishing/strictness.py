"""Whether a changed entry is stricter, looser, neutral or only worded otherwise.

Entries are compared as the calculation takes them, so that 203.2 mm for 8 in is wording.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any, Literal

from service.quantity.parse import QuantityError
from service.rulesets.build.measure import bound
from service.rulesets.ruleset import Conditions, Item, Need, Ratio, RuleSet, Zone
from service.rulesets.tables.model import Box, Range, Row
from service.rulesets.values import STRICTER, Values, kinds
from service.rulesets.vocabulary import TABLES, VERDICTS

Classed = Literal["stricter", "looser", "neutral", "wording"]
Entry = Mapping[str, Any] | None

_SEVERITIES = ("danger", "warning", "caution", "notice")


def value_class(name: str, old: Entry, new: Entry, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a value changed; the direction that is stricter stands beside the value."""
    if old is None or new is None:
        return "neutral"
    moved = _moved(name, before.values, after.values)
    return _worst([moved, _bounds_class(name, old.get("allowed"), new.get("allowed"))])


def caution_class(name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a caution changed: dropping, softening or narrowing one is looser."""
    old = next((c for c in before.cautions if c.id == name), None)
    new = next((c for c in after.cautions if c.id == name), None)
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    locks = [bool(rules.content["cautions"][name].get("locked")) for rules in (before, after)]
    ranks = [_SEVERITIES.index(caution.severity) for caution in (old, new)]
    return _worst([_when(old.when, new.when), _order(ranks[1], ranks[0]), _order(*locks)])


def item_class(name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a bill line changed: asking for less of it is looser."""
    old, new = _item(name, before), _item(name, after)
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    return _worst(
        [
            *_needs(old.needs, new.needs),
            *_needs(old.counted, new.counted),
            _order(old.spare, new.spare),
            _order(old.minimum, new.minimum),
            _when(old.when, new.when),
            "wording" if old.pack == new.pack else "neutral",
        ]
    )


def zone_class(name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a zone changed, against what held there before; one that is dropped is looser."""
    new = after.zones.get(name)
    if new is None:
        return "looser"
    old = before.zones.get(name, before.zones["standard"])
    names = old.changed | new.changed
    classes = [_moved(value, old.values, new.values) for value in sorted(names)]
    for item, need in sorted({*old.ratios, *new.ratios}):
        ratios = [_ratio(zone, rules, item, need) for zone, rules in ((old, before), (new, after))]
        if None not in ratios:
            classes.append(_order(*ratios))
    return _worst(classes)


def row_class(path: tuple[str, ...], before: RuleSet, after: RuleSet) -> Classed:
    """Return how a table changed at a row.

    Only the suitability table has verdicts to compare: a row that is dropped, milder, or matches
    less of what had a grave verdict, is looser.
    """
    if len(path) < 4 or "verdict" not in TABLES[path[1]].outputs:
        return "wording" if path[-1] == "means" else "neutral"
    old, new = (_row(path, rules) for rules in (before, after))
    if old is None or new is None:
        there = old or new
        if there is None or there.output_value == "suitable":
            return "neutral"
        return "stricter" if old is None else "looser"
    ranks = [VERDICTS.index(str(row.output_value)) for row in (old, new)]
    matched = _either(not _within(new.when, old.when), not _within(old.when, new.when))
    return _worst([_order(ranks[1], ranks[0]), matched])


def _item(name: str, rules: RuleSet) -> Item | None:
    return next((item for item in rules.bill if item.id == name), None)


def _row(path: tuple[str, ...], rules: RuleSet) -> Row | None:
    rows = rules.tables[path[1]].table.rows
    return next((row for row in rows if row.id == path[3]), None)


def _needs(old: tuple[Need, ...], new: tuple[Need, ...]) -> list[Classed]:
    """Return how each need changed; one that is added is stricter, one that is dropped looser."""
    before, after = ({need.id: need for need in needs} for needs in (old, new))
    classes: list[Classed] = ["stricter" for name in after if name not in before]
    classes += ["looser" for name in before if name not in after]
    for name in before.keys() & after.keys():
        one, other = before[name], after[name]
        if one.driver != other.driver:
            classes.append("looser")
        classes.append(_order(_share(one), _share(other)))
        classes.append(_when(one.when, other.when))
    return classes


def _share(ratio: Need | Ratio) -> Fraction:
    """Return how much of an item one unit of its driver takes."""
    return Fraction(ratio.each, ratio.one_per)


def _ratio(zone: Zone, rules: RuleSet, item: str, need: str) -> Fraction | None:
    """Return the ratio of a need inside a zone: the zone's own, or the standard one."""
    if (item, need) in zone.ratios:
        return _share(zone.ratios[item, need])
    found = _item(item, rules)
    return next((_share(n) for n in (found.needs if found else ()) if n.id == need), None)


def _when(old: Conditions, new: Conditions) -> Classed:
    before, after = dict(old), dict(new)
    return _either(not _inside(after, before), not _inside(before, after))


def _inside(one: Mapping[str, frozenset[Any]], other: Mapping[str, frozenset[Any]]) -> bool:
    """Return whether all that fulfils conditions `one` fulfils `other` as well."""
    return all(name in one and one[name] <= wanted for name, wanted in other.items())


def _within(one: Box, other: Box) -> bool:
    """Return whether all that a row with conditions `one` matches, `other` matches as well."""
    return all(name in one and _part(one[name], wanted) for name, wanted in other.items())


def _part(one: Any, other: Any) -> bool:  # noqa: ANN401 - a condition of either kind
    if isinstance(one, tuple):
        return all(any(_in_range(part, whole) for whole in other) for part in one)
    return bool(one <= other) if isinstance(one, frozenset) else bool(one == other)


def _in_range(part: Range, whole: Range) -> bool:
    starts = whole.least is None or (part.least is not None and part.least >= whole.least)
    ends = whole.below is None or (part.below is not None and part.below <= whole.below)
    return starts and ends


def _moved(name: str, before: Values, after: Values) -> Classed:
    old, new = getattr(before, name), getattr(after, name)
    if old == new:
        return "wording"
    way = STRICTER.get(name, "")
    if not way:
        return "neutral"
    return "stricter" if (new > old) == (way == "more") else "looser"


def _bounds_class(name: str, old: Entry, new: Entry) -> Classed:
    """Return how the range changed in which overlays may move a value."""
    if old is None or new is None:
        return "wording" if old == new else "stricter" if old is None else "looser"
    try:
        before, after = (
            [bound(kinds()[name], e[end]) for end in ("from", "to")] for e in (old, new)
        )
    except QuantityError:
        return "neutral"
    stricter = after[0] > before[0] or after[1] < before[1]
    return _either(stricter, after[0] < before[0] or after[1] > before[1])


def _ends(name: str, allowed: Mapping[str, Any]) -> tuple[Any, Any]:
    kind = kinds()[name]
    return bound(kind, allowed["from"]), bound(kind, allowed["to"])


def _order(old: Any, new: Any) -> Classed:  # noqa: ANN401 - any figure
    """Return `stricter` where a figure rose, `looser` where it fell."""
    return "wording" if old == new else "stricter" if new > old else "looser"


def _either(stricter: bool, looser: bool) -> Classed:
    return "looser" if looser else "stricter" if stricter else "wording"


def _worst(classes: Iterable[Classed]) -> Classed:
    found = set(classes)
    order: tuple[Classed, ...] = ("looser", "stricter", "neutral")
    return next((classed for classed in order if classed in found), "wording")
