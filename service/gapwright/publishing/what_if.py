"""What if: one job's answers under two rule sets, side by side, and where they differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from gapwright.calls.registry import BY_NAME
from gapwright.calls.request import BaseRequest
from gapwright.errors import Fault, InvalidRequestError
from gapwright.publishing.examples import entry_name
from gapwright.quantity.output import encode
from gapwright.rulesets.ruleset import RuleSet
from gapwright.strict import convert, integers, unknown_name


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """One figure that differs, with its value under both rule sets.

    `figure` is like a JSON Pointer into the result, but it names an entry of a list by what it is
    and not by its position, which may differ: `/lines/mesh/quantity` is the quantity of the line
    whose item is mesh. Reasons are named by their row, tools by their id. Entries without a unique
    name of that kind are named by their position.
    """

    figure: str
    """The figure, by a path into the result."""
    before: Any
    """Its value under the first rule set, any JSON value; null if there is none."""
    after: Any
    """Its value under the second rule set, any JSON value; null if there is none."""


class WhatIf(msgspec.Struct, frozen=True, kw_only=True):
    """The results of one job under two rule sets, and every figure that differs."""

    before: dict[str, Any]
    """The result under the first rule set."""
    after: dict[str, Any]
    """The result under the second rule set."""
    differences: tuple[Difference, ...]
    """Every figure that differs."""


def what_if(call: str, job: Mapping[str, Any], before: RuleSet, after: RuleSet) -> WhatIf:
    """Return a job's results under two rule sets, in the same units: the job's, or `after`'s.

    Raises InvalidRequestError for an unusable job; its faults lead into `given`.
    """
    if call not in BY_NAME:
        remedy = unknown_name(call, list(BY_NAME))
        raise InvalidRequestError(
            [Fault(path=("call",), problem=f"Unknown endpoint {call[:60]!r}.", remedy=remedy)]
        )
    try:
        request = convert(integers(job), BY_NAME[call].request)
        if faults := request.faults():
            raise InvalidRequestError(faults)
    except InvalidRequestError as error:
        raise _within_given(error) from None
    return compare(call, request, before, after)


def compare(call: str, request: BaseRequest, before: RuleSet, after: RuleSet) -> WhatIf:
    """Return the results of a request under two rule sets, as `what_if` does of a job."""
    if request.units is None:
        request = msgspec.structs.replace(request, units=after.units)
    old, new = _result(call, request, before), _result(call, request, after)
    return WhatIf(before=old, after=new, differences=tuple(_differ(old, new, "")))


def _result(call: str, request: BaseRequest, rules: RuleSet) -> dict[str, Any]:
    """Return a call's result as plain data. Faults lead into `given`."""
    try:
        computed = BY_NAME[call].compute(request, rules)
    except InvalidRequestError as error:
        raise _within_given(error) from None
    result: dict[str, Any] = msgspec.json.decode(
        encode(computed.result, request.units or rules.units)
    )
    return result


def _within_given(error: InvalidRequestError) -> InvalidRequestError:
    return InvalidRequestError(
        [msgspec.structs.replace(fault, path=("given", *fault.path)) for fault in error.faults]
    )


def _differ(before: Any, after: Any, pointer: str) -> Iterator[Difference]:  # noqa: ANN401
    if before == after:
        return
    lengths = {"value", "unit", "text"}  # these are compared as a whole
    if isinstance(before, dict) and isinstance(after, dict):
        if not lengths <= before.keys() & after.keys():
            yield from _differ_by_name(before, after, pointer)
            return
    elif isinstance(before, list) and isinstance(after, list):
        named = [_by_name(part) for part in (before, after)]
        if None in named:
            named = [{str(at): one for at, one in enumerate(part)} for part in (before, after)]
        yield from _differ_by_name(named[0] or {}, named[1] or {}, pointer)
        return
    yield Difference(figure=pointer, before=before, after=after)


def _differ_by_name(
    before: Mapping[str, Any], after: Mapping[str, Any], pointer: str
) -> Iterator[Difference]:
    for name in dict.fromkeys((*before, *after)):
        step = name.replace("~", "~0").replace("/", "~1")  # RFC 6901
        yield from _differ(before.get(name), after.get(name), f"{pointer}/{step}")


def _by_name(part: list[Any]) -> dict[str, Any] | None:
    """Return the entries of a list by name; None unless all have one, and each its own."""
    named = {entry_name(one): one for one in part}
    return named if "" not in named and len(named) == len(part) else None
