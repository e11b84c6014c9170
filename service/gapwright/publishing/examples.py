"""Run the examples of a rule set: each has a request and part of the expected answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from gapwright.calls.registry import BY_NAME
from gapwright.errors import Fault, InvalidRequestError
from gapwright.quantity.output import plain
from gapwright.quantity.parse import QuantityError, length_nm
from gapwright.quantity.show import decimal
from gapwright.quantity.units import read_unit
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.schema import ExampleEntry
from gapwright.strict import convert, integers

Path = tuple[str | int, ...]
_LENGTHS = ("in", "ft", "mm", "m")


def lays_out(example: ExampleEntry) -> bool:
    """Return whether an example lays an array out."""
    return example.call == "layout" or "layout" in example.given


def judge_examples(rules: RuleSet) -> list[Fault]:
    """Return a fault for each expectation of an example that the rule set does not meet."""
    return [fault for name in rules.examples for fault in judge_example(name, rules)]


def judge_example(name: str, rules: RuleSet) -> list[Fault]:
    """Return a fault for each expectation of one example that the rule set does not meet."""
    example = rules.examples[name]
    path: Path = ("examples", name)
    try:
        found = answer_example(example, rules)
    except InvalidRequestError as error:
        return [
            Fault(path=(*path, "given", *f.path), problem=f.problem, remedy=f.remedy)
            for f in error.faults
        ]
    return list(differences(example.expect, found, (*path, "expect")))


def answer_example(example: ExampleEntry, rules: RuleSet) -> dict[str, Any]:
    """Return the answer to an example as plain data.

    Raises InvalidRequestError if it is unusable.
    """
    call = BY_NAME[example.call]
    request = convert(integers(example.given), call.request)
    if faults := request.faults():
        raise InvalidRequestError(faults)
    computed = call.compute(request, rules)
    answer: dict[str, Any] = plain(computed.result, request.units or rules.units)
    return answer


def differences(expected: Any, found: Any, path: Path) -> Iterator[Fault]:  # noqa: ANN401
    """Yield where a found value is not what was expected; what is not mentioned may be anything."""
    if isinstance(expected, Mapping):
        yield from _object(expected, found, path)
    elif isinstance(expected, Sequence) and not isinstance(expected, str):
        yield from _list(expected, found, path)
    elif not _same(expected, found):
        problem = f"Expected {_shown(expected)}; got {_shown(found)}."
        remedy = "Fix the rule or update the example."
        yield Fault(path=path, problem=problem, remedy=remedy)


def _object(expected: Mapping[str, Any], found: Any, path: Path) -> Iterator[Fault]:  # noqa: ANN401
    if isinstance(found, (list, tuple)):
        found = {entry_name(one): one for one in found}
    for name, part in expected.items():
        if part is None and isinstance(found, Mapping) and found.get(name) is None:
            continue
        if not isinstance(found, Mapping) or name not in found:
            problem = f"The answer has no '{name}' here."
            yield Fault(path=(*path, name), problem=problem, remedy="Update the example.")
        else:
            yield from differences(part, found[name], (*path, name))


def _list(expected: Sequence[Any], found: Any, path: Path) -> Iterator[Fault]:  # noqa: ANN401
    if not isinstance(found, (list, tuple)) or len(found) != len(expected):
        count = len(found) if isinstance(found, (list, tuple)) else "something other than a list"
        problem = f"Expected {len(expected)} entries; got {count}."
        yield Fault(path=path, problem=problem, remedy="Update the example.")
        return
    for at, (part, one) in enumerate(zip(expected, found, strict=True)):
        yield from differences(part, one, (*path, at))


def entry_name(one: Any) -> str:  # noqa: ANN401
    """Return the name of an entry of a list in an answer; empty where it has none.

    It is an item, a tool, a fact, or the row that a reason follows.
    """
    if not isinstance(one, Mapping):
        return ""
    names = (one.get("item"), one.get("tool"), one.get("fact"), one.get("rule"))
    return next((str(name).split(".")[-1] for name in names if name), "")


def _same(expected: Any, found: Any) -> bool:  # noqa: ANN401
    if isinstance(found, Mapping) and {"value", "unit", "text"} <= set(found):
        if found["unit"] not in _LENGTHS:
            return bool(expected == found["text"])
        return isinstance(expected, str) and _same_length(expected, found)
    return isinstance(expected, bool) == isinstance(found, bool) and bool(expected == found)


def _same_length(expected: str, found: Mapping[str, Any]) -> bool:
    """Return whether an answer's length is the expected one, to the six decimals of an answer."""
    try:
        nm = length_nm(expected)
    except QuantityError:
        return False
    unit = read_unit(str(found["unit"]), "length")
    return unit is not None and bool(decimal(nm / float(unit[1])) == found["value"])


def _shown(value: Any) -> str:  # noqa: ANN401
    if isinstance(value, Mapping):
        return str(value.get("text", "an object"))
    return "a list" if isinstance(value, list) else str(value)
