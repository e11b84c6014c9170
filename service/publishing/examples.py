"""Run the examples inside a rule set: each is a request, and a part of the answer it must get."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import msgspec

from service.calls.computing import BY_NAME
from service.errors import BadInputError, Fault
from service.quantity.parse import QuantityError, length_nm
from service.quantity.show import decimal
from service.quantity.units import UNITS
from service.rulesets.ruleset import RuleSet
from service.strict import convert

Path = tuple[str | int, ...]
_LENGTHS = ("in", "ft", "mm", "m")


def judge_examples(rules: RuleSet) -> list[Fault]:
    """Return a fault for each expectation of an example that the rule set does not meet."""
    return [fault for name in rules.examples for fault in judge_example(name, rules)]


def judge_at_load(rules: RuleSet) -> list[Fault]:
    """Return the faults of the examples that are quick to run.

    Those that lay an array out, and quotes, are left to `check` and `publish`: to read the geometry
    in takes longer than the service takes to start.
    """
    quick = [
        name
        for name, example in rules.examples.items()
        if example.call != "quote" and "layout" not in example.given
    ]
    return [fault for name in quick for fault in judge_example(name, rules)]


def judge_example(name: str, rules: RuleSet) -> list[Fault]:
    """Return a fault for each expectation of one example that the rule set does not meet."""
    example = rules.examples[name]
    path: Path = ("examples", name)
    call = BY_NAME[example.call]
    try:
        form = convert(example.given, call.form)
        faults = form.faults()
        if faults:
            raise BadInputError(faults)
        answer = msgspec.to_builtins(call.compute(form, rules).result)
    except BadInputError as error:
        return [
            Fault(path=(*path, "given", *f.path), problem=f.problem, remedy=f.remedy)
            for f in error.faults
        ]
    return list(_differences(example.expect, answer, (*path, "expect")))


def _differences(expected: Any, found: Any, path: Path) -> Iterator[Fault]:  # noqa: ANN401
    """Yield where a found value is not what was expected; what is not mentioned may be anything."""
    if isinstance(expected, Mapping):
        yield from _object(expected, found, path)
    elif isinstance(expected, Sequence) and not isinstance(expected, str):
        yield from _list(expected, found, path)
    elif not _same(expected, found):
        problem = f"Expected {_shown(expected)}, and the answer is {_shown(found)}."
        remedy = "Mend the rule, or restate the example."
        yield Fault(path=path, problem=problem, remedy=remedy)


def _object(expected: Mapping[str, Any], found: Any, path: Path) -> Iterator[Fault]:  # noqa: ANN401
    if isinstance(found, (list, tuple)):
        found = _by_name(found)
    for name, part in expected.items():
        if part is None and isinstance(found, Mapping) and found.get(name) is None:
            continue
        if not isinstance(found, Mapping) or name not in found:
            problem = f"The answer has no {name} there."
            yield Fault(path=(*path, name), problem=problem, remedy="Restate the example.")
        else:
            yield from _differences(part, found[name], (*path, name))


def _list(expected: Sequence[Any], found: Any, path: Path) -> Iterator[Fault]:  # noqa: ANN401
    if not isinstance(found, (list, tuple)) or len(found) != len(expected):
        count = len(found) if isinstance(found, (list, tuple)) else "no list of them"
        problem = f"Expected {len(expected)} entries, and the answer has {count}."
        yield Fault(path=path, problem=problem, remedy="Restate the example.")
        return
    for at, (part, one) in enumerate(zip(expected, found, strict=True)):
        yield from _differences(part, one, (*path, at))


def _by_name(found: Sequence[Any]) -> dict[str, Any]:
    """Return a list of named things by name: lines by item, reasons by row, tools by id."""
    named = {}
    for one in found:
        if isinstance(one, Mapping):
            names = (one.get("item"), one.get("tool"), one.get("fact"), one.get("rule"))
            named[next((str(n).split(".")[-1] for n in names if n), "")] = one
    return named


def _same(expected: Any, found: Any) -> bool:  # noqa: ANN401
    if isinstance(found, Mapping) and {"value", "unit", "text"} <= set(found):
        if found["unit"] not in _LENGTHS:
            return bool(expected == found["text"])
        return isinstance(expected, str) and _same_length(expected, found)
    return isinstance(expected, bool) == isinstance(found, bool) and bool(expected == found)


def _same_length(expected: str, found: Mapping[str, Any]) -> bool:
    """Return whether an answer's length is the expected one, to the six decimals it is told in."""
    try:
        nm = length_nm(expected)
    except QuantityError:
        return False
    return bool(decimal(nm / float(UNITS[found["unit"]][1])) == found["value"])


def _shown(value: Any) -> str:  # noqa: ANN401
    if isinstance(value, Mapping):
        return str(value.get("text", "an object"))
    return "a list" if isinstance(value, list) else str(value)
