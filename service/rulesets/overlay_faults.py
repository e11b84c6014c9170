"""What an overlay may not do: drop or reword what is locked, or leave the allowed range."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build.measure import bound
from service.rulesets.values import kinds
from service.strict import unknown_name

Content = Mapping[str, Any]
Path = tuple[str | int, ...]


def overlay_faults(base: Content, change: Content) -> list[Fault]:
    """Return every fault of a change against the content that it is laid over."""
    return [*removal_faults(base, change), *_locked(base, change), *_out_of_range(base, change)]


def removal_faults(base: Content, change: Content) -> Iterator[Fault]:
    """Yield the faults of what a change drops: unknown ids, and ids that it writes anew."""
    for section, ids in change.get("remove", {}).items():
        if section == "tables":
            for table, rows in ids.items():
                known = base["tables"].get(table, {}).get("rows", {})
                again = change.get("tables", {}).get(table, {}).get("rows", {})
                yield from _removed(known, again, rows, ("remove", "tables", table))
        else:
            again = change.get(section, {})
            yield from _removed(base.get(section, {}), again, ids, ("remove", section))


def _removed(known: Content, again: Content, ids: list[str], path: Path) -> Iterator[Fault]:
    for at, name in enumerate(ids):
        if name not in known:
            remedy = unknown_name(name, list(known))
            problem = f"There is no {name} to remove."
            yield Fault(path=(*path, at), problem=problem, remedy=remedy)
        elif name in again:
            remedy = "To replace an entry, write the new one and remove nothing."
            yield Fault(path=(*path, at), problem=f"{name} is written anew below.", remedy=remedy)


def _locked(base: Content, change: Content) -> Iterator[Fault]:
    cautions = base.get("cautions", {})
    locked = {name for name, entry in cautions.items() if entry.get("locked")}
    cited = {cautions[name]["source"] for name in locked}
    for name in change.get("sources", {}):
        if name in cited and name in base.get("sources", {}):
            problem = "A locked caution cites this source, so it cannot be reworded."
            told = "Add a source of your own under another name."
            yield Fault(path=("sources", name), problem=problem, remedy=told)
    remedy = "Leave it as it is; add a caution of your own beside it."
    for name in change.get("cautions", {}):
        if name in locked:
            problem = "This caution is locked and cannot be reworded."
            yield Fault(path=("cautions", name), problem=problem, remedy=remedy)
    for at, name in enumerate(change.get("remove", {}).get("cautions", ())):
        if name in locked:
            problem = f"The caution {name} is locked and cannot be dropped."
            yield Fault(path=("remove", "cautions", at), problem=problem, remedy=remedy)


def _out_of_range(base: Content, change: Content) -> Iterator[Fault]:
    known = kinds()
    for name, entry in change.get("values", {}).items():
        below = base.get("values", {}).get(name, {})
        allowed = below.get("allowed")
        if name not in known or not allowed:
            continue
        kind = known[name]
        if "value" in entry:
            path: Path = ("values", name, "value")
            yield from _outside(kind, entry["value"], allowed, path)
        for end, limit in (entry.get("allowed") or {}).items():
            yield from _outside(kind, limit, allowed, ("values", name, "allowed", end))
    for zone, entry in change.get("zones", {}).items():
        for name, raw in entry.get("values", {}).items():
            allowed = base.get("values", {}).get(name, {}).get("allowed")
            if allowed and name in known:
                yield from _outside(known[name], raw, allowed, ("zones", zone, "values", name))


def _outside(kind: str, raw: object, allowed: Content, path: Path) -> Iterator[Fault]:
    """Yield a fault where a value lies outside the range that the base allows."""
    try:
        least, most = bound(kind, allowed["from"]), bound(kind, allowed["to"])
        found = [bound(kind, one) for one in (raw if isinstance(raw, list) else [raw])]
    except QuantityError:
        return  # told when the value itself is judged
    if not all(least <= one <= most for one in found):
        problem = f"{raw} is outside of what the base allows."
        remedy = f"Stay within {allowed['from']} to {allowed['to']}."
        yield Fault(path=path, problem=problem, remedy=remedy)
