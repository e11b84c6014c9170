"""Build the values of a rule set, each checked against what the calculation takes it for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build.measure import WANTED, bound, measure
from service.rulesets.schema import Allowed, RuleFile, ValueEntry
from service.rulesets.values import OPTIONAL, Values, kinds
from service.strict import unknown_name

Path = tuple[str | int, ...]
_LEAST: dict[str, tuple[float, str]] = {
    "usual_clearance": (1, "Write more than zero."),
    "mesh_opening": (1, "Write more than zero."),
    "turn_step": (0.1, "Write at least 0.1 deg."),
}
"""What a value of sense is at least."""


def build_values(file: RuleFile, written: object, found: list[Fault]) -> Values | None:
    """Return the values, or None where one is missing or at fault; faults go to `found`.

    `written` is the section as it stands, in which entries at fault have not been dropped.
    """
    known = kinds()
    read: dict[str, Any] = {}
    names = {*file.values, *(written if isinstance(written, Mapping) else ())}
    found[:] = [*_without(found, names - set(known)), *_unknown(names - set(known), known)]
    for name, entry in file.values.items():
        path: Path = ("values", name)
        if name not in known:
            continue
        try:
            read[name] = measure(known[name], entry.value)
        except QuantityError as error:
            found.append(Fault(path=(*path, "value"), problem=str(error)))
            continue
        least = _LEAST.get(name)
        if least is not None and read[name] < least[0]:
            problem = f"{entry.value} makes no sense here."
            found.append(Fault(path=(*path, "value"), problem=problem, remedy=least[1]))
        _check_allowed(known[name], read[name], entry, path, found)
    if isinstance(written, Mapping):
        problem = "This value is missing."
        wanted = {name: kind for name, kind in known.items() if name not in OPTIONAL}
        missing = {name: kind for name, kind in wanted.items() if name not in written}
        found.extend(
            Fault(path=("values", name), problem=problem, remedy=WANTED[kind])
            for name, kind in missing.items()
        )
    found.extend(inconsistent(read, lambda name: ("values", name, "value")))
    return Values(**read) if known.keys() - OPTIONAL <= read.keys() else None


def _without(found: list[Fault], names: set[str]) -> list[Fault]:
    """Return the faults that are not about values of these names, nor what such values lack."""
    return [f for f in found if f.path[:1] != ("values",) or not names.intersection(f.path[1:2])]


def _unknown(names: set[str], known: Mapping[str, str]) -> Iterator[Fault]:
    for name in sorted(map(str, names)):
        remedy = unknown_name(name, list(known))
        yield Fault(path=("values", name), problem="There is no such value.", remedy=remedy)


def inconsistent(read: Mapping[str, Any], place: Callable[[str], Path]) -> list[Fault]:
    """Return the faults between values that are each fine alone."""
    checks: tuple[tuple[str, str, Callable[..., bool], str], ...] = (
        ("common_widths", "stocked_widths", lambda a, b: set(a) <= set(b), "List them there too."),
        ("turn_from", "turn_to", lambda a, b: a <= b, "Write the least turn there."),
        ("lap", "piece_length", lambda a, b: a < b, "A lap is shorter than a piece."),
    )
    return [
        Fault(path=place(name), problem=f"This does not fit {other}.", remedy=remedy)
        for name, other, fits, remedy in checks
        if name in read and other in read and not fits(read[name], read[other])
    ]


def _check_allowed(
    kind: str,
    value: Any,  # noqa: ANN401
    entry: ValueEntry,
    path: Path,
    found: list[Fault],
) -> None:
    """Note a fault where a value leaves its own allowed range, or the range makes no sense."""
    allowed = entry.allowed
    if allowed is None:
        return
    if kind == "flag":
        problem = "A value that is true or false has no range."
        found.append(Fault(path=(*path, "allowed"), problem=problem, remedy="Leave it out."))
        return
    try:
        least, most = bound(kind, allowed.from_), bound(kind, allowed.to)
    except QuantityError as error:
        found.append(Fault(path=(*path, "allowed"), problem=str(error)))
        return
    values = value if isinstance(value, tuple) else (value,)
    if not all(least <= one <= most for one in values):
        found.append(_outside(allowed, path))


def _outside(allowed: Allowed, path: Path) -> Fault:
    return Fault(
        path=(*path, "value"),
        problem="This lies outside of its own allowed range.",
        remedy=f"Stay within {allowed.from_} to {allowed.to}.",
    )
