"""Whether a changed entry is stricter, looser, neutral or only worded otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal

from service.quantity.parse import QuantityError
from service.rulesets.build.measure import count, length, measure
from service.rulesets.values import STRICTER, kinds
from service.rulesets.vocabulary import TABLES, VERDICTS

Classed = Literal["stricter", "looser", "neutral", "wording"]
Entry = Mapping[str, Any] | None

_SEVERITIES = ("danger", "warning", "caution", "notice")


def value_class(name: str, old: Entry, new: Entry) -> Classed:
    """Return how a value changed; the direction that is stricter stands beside the value."""
    if old is None or new is None:
        return "neutral"
    if old.get("value") == new.get("value"):
        return _bounds_class(name, old.get("allowed"), new.get("allowed"))
    return _moved(STRICTER.get(name, ""), _read(name, old["value"]), _read(name, new["value"]))


def caution_class(old: Entry, new: Entry) -> Classed:
    """Return how a caution changed: dropping, softening or narrowing one is looser."""
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    ranks = [_SEVERITIES.index(entry["severity"]) for entry in (old, new)]
    narrowed = _narrower(new.get("when", {}), old.get("when", {}))
    widened = _narrower(old.get("when", {}), new.get("when", {}))
    unlocked = bool(old.get("locked")) > bool(new.get("locked"))
    locked = bool(new.get("locked")) > bool(old.get("locked"))
    return _either(
        ranks[1] < ranks[0] or widened or locked, ranks[1] > ranks[0] or narrowed or unlocked
    )


def item_class(old: Entry, new: Entry) -> Classed:
    """Return how a bill line changed: asking for less of it is looser."""
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    old_needs, new_needs = old["estimate"], new["estimate"]
    classes = [_need_class(old_needs.get(n), new_needs.get(n)) for n in {*old_needs, *new_needs}]
    classes.append(_order(_percent(old.get("spare", "0 %")), _percent(new.get("spare", "0 %"))))
    classes.append(_order(old.get("minimum", 0), new.get("minimum", 0)))
    classes.append(_when_class(old, new))
    if old.get("pack") != new.get("pack"):
        classes.append("neutral")
    return _worst(classes)


def zone_class(old: Entry, new: Entry) -> Classed:
    """Return how a zone changed, by its values; a zone that is dropped is looser."""
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    classes: list[Classed] = []
    before, after = old.get("values", {}), new.get("values", {})
    for name in {*before, *after}:
        if name in before and name in after:
            way = STRICTER.get(name, "")
            classes.append(_moved(way, _read(name, before[name]), _read(name, after[name])))
        else:
            classes.append("stricter" if name in after else "looser")
    if old.get("bill", {}) != new.get("bill", {}):
        classes.append("looser")
    return _worst(classes)


def row_class(path: tuple[str, ...], old: Any, new: Any) -> Classed:  # noqa: ANN401
    """Return how a table changed at a row.

    Only the suitability table has verdicts to compare: a row that is dropped, milder, or asks for
    more before a grave verdict, is looser.
    """
    if len(path) < 4 or "verdict" not in TABLES[path[1]].outputs:
        return "wording" if path[-1] == "means" else "neutral"
    if old is None or new is None:
        entry = old if new is None else new
        if entry["then"]["verdict"] == "suitable":
            return "neutral"
        return "stricter" if old is None else "looser"
    ranks = [VERDICTS.index(entry["then"]["verdict"]) for entry in (old, new)]
    return _worst([_order(ranks[1], ranks[0]), _when_class(old, new)])


def _need_class(old: Entry, new: Entry) -> Classed:
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    if old["driver"] != new["driver"]:
        return "looser"
    each = _order(old.get("each", 1), new.get("each", 1))
    portion = _order(_portion(new.get("one_per", 1)), _portion(old.get("one_per", 1)))
    return _worst([each, portion, _when_class(old, new)])


def _when_class(old: Mapping[str, Any], new: Mapping[str, Any]) -> Classed:
    before, after = old.get("when", {}), new.get("when", {})
    return _either(_narrower(before, after), _narrower(after, before))


def _narrower(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Return whether conditions `one` leave out a case that `other` takes in."""
    return any(
        name not in other or not _options(other[name]) <= _options(wanted)
        for name, wanted in one.items()
        if other.get(name) != wanted
    )


def _options(wanted: Any) -> frozenset[Any]:  # noqa: ANN401
    if isinstance(wanted, Mapping):
        return frozenset({(end, str(limit)) for end, limit in wanted.items()})
    return frozenset(wanted if isinstance(wanted, list) else [wanted])


def _moved(way: str, old: Any, new: Any) -> Classed:  # noqa: ANN401
    if old == new:
        return "wording"
    if not way or old is None or new is None:
        return "neutral"
    return "stricter" if (new > old) == (way == "more") else "looser"


def _bounds_class(name: str, old: Entry, new: Entry) -> Classed:
    """Return how the range changed in which overlays may move a value."""
    if old == new:
        return "wording"
    if old is None or new is None:
        return "stricter" if old is None else "looser"
    before = [_read(name, old[end]) for end in ("from", "to")]
    after = [_read(name, new[end]) for end in ("from", "to")]
    if None in (*before, *after):
        return "neutral"
    return _either(
        after[0] > before[0] or after[1] < before[1], after[0] < before[0] or after[1] > before[1]
    )


def _read(name: str, raw: object) -> Any:  # noqa: ANN401
    kind = kinds().get(name, "")
    try:
        one = "length" if kind == "lengths" and not isinstance(raw, list) else kind
        return measure(one, raw)
    except (QuantityError, KeyError):
        return None


def _portion(raw: object) -> int:
    return length(raw) if isinstance(raw, str) else count(raw)


def _percent(text: str) -> Any:  # noqa: ANN401
    return measure("share", text)


def _order(old: Any, new: Any) -> Classed:  # noqa: ANN401
    """Return `stricter` where a figure rose, `looser` where it fell."""
    return "wording" if old == new else "stricter" if new > old else "looser"


def _either(stricter: bool, looser: bool) -> Classed:
    return "looser" if looser else "stricter" if stricter else "wording"


def _worst(classes: Iterable[Classed]) -> Classed:
    found = set(classes)
    order: tuple[Classed, ...] = ("looser", "stricter", "neutral")
    return next((classed for classed in order if classed in found), "wording")
