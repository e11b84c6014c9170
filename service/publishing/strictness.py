"""Whether a changed entry is stricter, looser, neutral or only worded otherwise.

Entries are compared as the calculation takes them, so that 203.2 mm for 8 in is wording. Hours,
assumptions and weights make nothing stricter or looser: they are neutral, or only worded otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any, Literal

import msgspec

from service.quantity.parse import QuantityError
from service.rulesets.measure import bound
from service.rulesets.ruleset import Conditions, Need, Ratio, RuleSet, Zone
from service.rulesets.values import VALUES, Values

Classed = Literal["stricter", "looser", "neutral", "wording"]
Entry = Mapping[str, Any] | None

_SEVERITIES = ("notice", "caution", "warning", "danger")


def value_class(name: str, old: Entry, new: Entry, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a value changed; the direction that is stricter stands beside the value."""
    if old is None or new is None:
        return "neutral"
    moved = _moved(name, before.values, after.values)
    return worst([moved, _range_class(VALUES[name].kind, old.get("allowed"), new.get("allowed"))])


def caution_class(name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a caution changed: dropping, softening or narrowing one is looser."""
    old, new = (by_id(rules.cautions, name) for rules in (before, after))
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    locks = [bool(rules.content["cautions"][name].get("locked")) for rules in (before, after)]
    ranks = [_SEVERITIES.index(caution.severity) for caution in (old, new)]
    return worst([_when(old.when, new.when), order(*ranks), order(*locks)])


def tool_class(name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a tool changed: needing it no more, or in fewer cases, is looser.

    What only helps asks for nothing, so it is neutral whether it is there.
    """
    old, new = (by_id(rules.tools, name) for rules in (before, after))
    needed = [tool is not None and tool.need == "needed" for tool in (old, new)]
    if needed != [True, True]:
        return order(*needed) if needed[0] != needed[1] else "neutral"
    return worst([_when(old.when, new.when), "neutral"])


def item_class(name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how a bill line changed: asking for less of it is looser.

    Pieces and a length cannot be compared, so a line that turns from one to the other is looser.
    """
    old, new = (by_id(rules.bill, name) for rules in (before, after))
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    if old.measured != new.measured:
        return "looser"
    return worst(
        [
            *_needs(old.needs, new.needs),
            *_needs(old.counted, new.counted),
            order(old.spare, new.spare),
            order(old.minimum, new.minimum),
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
            classes.append(order(*ratios))
    return worst(classes)


def quoting_class(section: str, name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how an assumption, task, surcharge or property of the mesh changed."""
    old, new = (_figures(section, name, rules) for rules in (before, after))
    return "wording" if old == new else "neutral"


def _figures(section: str, name: str, rules: RuleSet) -> Any:  # noqa: ANN401 - any entry
    """Return what an entry for quotes calculates with, without its words; None for no entry."""
    if section == "mesh":
        return getattr(rules.mesh, "wire_nm" if name == "wire" else name, None)
    if section == "assumptions":
        entry: Any = rules.assumptions.get(name)
    else:
        entry = by_id(getattr(rules, section), name)
    return None if entry is None else msgspec.structs.replace(entry, means="")


def by_id(entries: Iterable[Any], name: str) -> Any:  # noqa: ANN401 - an entry, or None
    """Return the entry of an id, None where there is none."""
    return next((entry for entry in entries if entry.id == name), None)


def _needs(old: tuple[Need, ...], new: tuple[Need, ...]) -> list[Classed]:
    """Return how each need changed; one that is added is stricter, one that is dropped looser."""
    before, after = ({need.id: need for need in needs} for needs in (old, new))
    classes: list[Classed] = ["stricter" for name in after if name not in before]
    classes += ["looser" for name in before if name not in after]
    for name in before.keys() & after.keys():
        one, other = before[name], after[name]
        if one.driver != other.driver:
            classes.append("looser")
        classes.append(order(_share(one), _share(other)))
        classes.append(_when(one.when, other.when))
    return classes


def _share(ratio: Need | Ratio) -> Fraction:
    """Return how much of an item one unit of its driver takes."""
    return Fraction(ratio.each, ratio.one_per)


def _ratio(zone: Zone, rules: RuleSet, item: str, need: str) -> Fraction | None:
    """Return the ratio of a need inside a zone: the zone's own, or the standard one."""
    if (item, need) in zone.ratios:
        return _share(zone.ratios[item, need])
    line = by_id(rules.bill, item)
    standard = by_id(line.needs, need) if line else None
    return None if standard is None else _share(standard)


def _when(old: Conditions, new: Conditions) -> Classed:
    before, after = dict(old), dict(new)
    return either(not _inside(after, before), not _inside(before, after))


def _inside(one: Mapping[str, frozenset[Any]], other: Mapping[str, frozenset[Any]]) -> bool:
    """Return whether all that fulfils conditions `one` fulfils `other` as well."""
    return all(name in one and one[name] <= wanted for name, wanted in other.items())


def _moved(name: str, before: Values, after: Values) -> Classed:
    old, new = getattr(before, name), getattr(after, name)
    if old == new:
        return "wording"
    way = VALUES[name].stricter
    if not way:
        return "neutral"
    return order(old, new) if way == "more" else order(new, old)


def _range_class(kind: str, old: Entry, new: Entry) -> Classed:
    """Return how the range changed in which overlays may move a value."""
    if old is None or new is None:
        return "wording" if old == new else "stricter" if old is None else "looser"
    try:
        before, after = ([bound(kind, e[end]) for end in ("from", "to")] for e in (old, new))
    except QuantityError:
        return "neutral"
    stricter = after[0] > before[0] or after[1] < before[1]
    return either(stricter, after[0] < before[0] or after[1] > before[1])


def order(old: Any, new: Any) -> Classed:  # noqa: ANN401 - any figure
    """Return `stricter` where a figure rose, `looser` where it fell."""
    return "wording" if old == new else "stricter" if new > old else "looser"


def either(stricter: bool, looser: bool) -> Classed:
    """Return which of the two holds; looser where both do."""
    return "looser" if looser else "stricter" if stricter else "wording"


def worst(classes: Iterable[Classed]) -> Classed:
    """Return the class that someone must look at first; `wording` for none."""
    found = set(classes)
    ranked: tuple[Classed, ...] = ("looser", "stricter", "neutral")
    return next((classed for classed in ranked if classed in found), "wording")
