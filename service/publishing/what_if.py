"""What if: one job's answers under two rule sets, side by side, and where they differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from service.calls.computing import BY_NAME
from service.calls.forms import Form
from service.errors import BadInputError, Fault
from service.quantity.output import plain
from service.rulesets.ruleset import RuleSet
from service.strict import convert, unknown_name, whole


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """One figure that differs, and what stands there under both rule sets.

    `figure` leads into the result as a JSON pointer does, but names things in a list by what they
    are and not by their place, which may not be the same under both: `/lines/mesh/quantity` is the
    quantity of the line whose item is mesh; reasons go by the row they follow, tools by their id.
    Where things have no such name, or not each its own, they go by their place.
    """

    figure: str
    before: Any
    after: Any


class WhatIf(msgspec.Struct, frozen=True, kw_only=True):
    """The results of one job under two rule sets, and every figure that differs."""

    before: dict[str, Any]
    after: dict[str, Any]
    differences: tuple[Difference, ...]


def what_if(call: str, job: Mapping[str, Any], before: RuleSet, after: RuleSet) -> WhatIf:
    """Return a job's results under two rule sets, in the same units: the job's, or `after`'s.

    Raises BadInputError for an unusable job; its faults lead into `given`.
    """
    if call not in BY_NAME:
        remedy = unknown_name(call, list(BY_NAME))
        raise BadInputError(
            [Fault(path=("call",), problem="There is no such call.", remedy=remedy)]
        )
    try:
        form = convert(whole(job), BY_NAME[call].form)
        if faults := form.faults():
            raise BadInputError(faults)
    except BadInputError as error:
        raise _within_given(error) from None
    return compare(call, form, before, after)


def compare(call: str, form: Form, before: RuleSet, after: RuleSet) -> WhatIf:
    """Return the results of a request under two rule sets, as `what_if` does of a job."""
    if form.units is None:
        form = msgspec.structs.replace(form, units=after.units)
    old, new = _result(call, form, before), _result(call, form, after)
    return WhatIf(before=old, after=new, differences=tuple(_differ(old, new, "")))


def _result(call: str, form: Form, rules: RuleSet) -> dict[str, Any]:
    """Return a call's result as plain data. Faults lead into `given`."""
    try:
        computed = BY_NAME[call].compute(form, rules)
    except BadInputError as error:
        raise _within_given(error) from None
    result: dict[str, Any] = plain(computed.result, form.units or rules.units)
    return result


def _within_given(error: BadInputError) -> BadInputError:
    return BadInputError(
        [msgspec.structs.replace(fault, path=("given", *fault.path)) for fault in error.faults]
    )


def _differ(before: Any, after: Any, pointer: str) -> Iterator[Difference]:  # noqa: ANN401
    if before == after:
        return
    if _figures(before, after):
        yield Difference(figure=pointer, before=before, after=after)
    elif isinstance(before, dict) and isinstance(after, dict):
        for name in dict.fromkeys((*before, *after)):
            yield from _differ(before.get(name), after.get(name), f"{pointer}/{_step(name)}")
    elif isinstance(before, list) and isinstance(after, list) and _named(before, after):
        olds, news = ({_name(one): one for one in part} for part in (before, after))
        for name in dict.fromkeys((*olds, *news)):
            yield from _differ(olds.get(name), news.get(name), f"{pointer}/{_step(str(name))}")
    elif isinstance(before, list) and isinstance(after, list):
        for at in range(max(len(before), len(after))):
            one = before[at] if at < len(before) else None
            other = after[at] if at < len(after) else None
            yield from _differ(one, other, f"{pointer}/{at}")
    else:
        yield Difference(figure=pointer, before=before, after=after)


def _step(name: str) -> str:
    """Return a name as one step of a pointer (RFC 6901)."""
    return name.replace("~", "~0").replace("/", "~1")


def _named(*lists: list[Any]) -> bool:
    """Return whether all entries of the lists are named things, each name once in its list."""
    names = [[_name(one) for one in part] for part in lists]
    return all(None not in part and len(set(part)) == len(part) for part in names)


def _name(one: Any) -> str | None:  # noqa: ANN401
    """Return the name of an entry: an item, a tool, a fact, or the row that a reason follows."""
    if not isinstance(one, dict):
        return None
    found = next((one[key] for key in ("item", "tool", "fact", "rule") if key in one), None)
    return str(found).split(".")[-1] if found else None


def _figures(before: Any, after: Any) -> bool:  # noqa: ANN401
    """Return whether both are lengths, which are told as a whole."""
    lengths = {"value", "unit", "text"}
    return all(isinstance(one, dict) and lengths <= set(one) for one in (before, after))
