"""What if: one job's answers under two versions, or everything that is wrong with the question."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from service.api.body import BodyReader, MalformedBodyError, parse_json
from service.api.operation import example
from service.api.rules_pages.cells import Line
from service.api.rules_pages.words import flat, in_words, told
from service.calls.computing import BY_NAME
from service.errors import BadInputError, Fault
from service.publishing.what_if import Difference, WhatIf, what_if
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name

MOST_FIGURES = 500
"""Figures that a page shows; a layout can differ in thousands."""
_CHOOSING = ("ruleset", "as_of")
_NAMES = ("item", "tool", "fact", "kind", "rule", "name")


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One figure that differs, in words, with what stands there under both versions."""

    words: str
    pointer: str
    before: tuple[Line, ...]
    after: tuple[Line, ...]


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """A job's results under two versions."""

    figures: tuple[Figure, ...]
    count: int
    """How many figures differ; the first of them are shown."""
    units: str
    """The units that both answers took, where the versions' own differ and the job named none."""
    before: dict[str, Any]
    after: dict[str, Any]


def first_example(call: str) -> str:
    """Return an example job of a call as JSON text, without members that choose the rules."""
    given = example(BY_NAME[call].examples[0])
    plain_job = {name: part for name, part in given.items() if name not in _CHOOSING}
    return json.dumps(plain_job, indent=2, ensure_ascii=False)


def read_call(call: str) -> list[Fault]:
    """Return what is wrong with the name of a call."""
    if call in BY_NAME:
        return []
    remedy = unknown_name(call, list(BY_NAME))
    return [Fault(path=("call",), problem="There is no such call.", remedy=remedy)]


def read_job(text: str, call: str) -> tuple[dict[str, Any], list[Fault]]:
    """Return a job as plain data, and everything that is wrong with it; faults lead into it."""
    body = text.encode("utf-8", "surrogatepass")
    try:
        job = parse_json(body)
        if not isinstance(job, dict):
            raise MalformedBodyError("The job is no JSON object. Begin with { and end with }.")
        faults = _job_faults(job, body, call)
    except MalformedBodyError as error:
        return {}, [_malformed(text, error)]
    return job, faults


def ask(call: str, job: dict[str, Any], before: RuleSet, after: RuleSet) -> Asked:
    """Return a job's results side by side. Raises BadInputError with the faults of both sides."""
    try:
        found = what_if(call, job, before, after)
    except BadInputError as error:
        raise BadInputError(_both_sides(call, job, after, error)) from None
    return Asked(
        figures=tuple(_figure(one, found) for one in found.differences[:MOST_FIGURES]),
        count=len(found.differences),
        units=after.units if before.units != after.units and not job.get("units") else "",
        before=found.before,
        after=found.after,
    )


def _job_faults(job: dict[str, Any], body: bytes, call: str) -> list[Fault]:
    remedy = "Leave it out: the two versions are chosen beside the job."
    found = [
        Fault(path=(name,), problem="This would choose the rules.", remedy=remedy)
        for name in _CHOOSING
        if name in job
    ]
    if call not in BY_NAME:
        return found
    try:
        BodyReader(BY_NAME[call].form).read(body)
    except BadInputError as error:
        found += [
            fault for fault in error.faults if fault.path[:1] not in {(n,) for n in _CHOOSING}
        ]
    return found


def _malformed(text: str, error: MalformedBodyError) -> Fault:
    """Return why a text is no JSON, with the line where that can be told."""
    try:
        json.loads(text)
    except json.JSONDecodeError as found:
        problem = f"Line {found.lineno}, column {found.colno}: this is not JSON. {found.msg}."
        return Fault(path=(), problem=problem, remedy="Write one JSON object.")
    except (ValueError, RecursionError):
        pass
    return Fault(path=(), problem=str(error))


def _both_sides(
    call: str, job: dict[str, Any], after: RuleSet, error: BadInputError
) -> list[Fault]:
    """Return the faults under either version: one may know a zone that the other does not."""
    found = [msgspec.structs.replace(fault, path=fault.path[1:]) for fault in error.faults]
    try:
        what_if(call, job, after, after)
    except BadInputError as other:
        found += [msgspec.structs.replace(fault, path=fault.path[1:]) for fault in other.faults]
    return list(dict.fromkeys(found))


def _figure(difference: Difference, found: WhatIf) -> Figure:
    return Figure(
        words=figure_words(difference.figure, found.before, found.after),
        pointer=difference.figure,
        before=_lines(difference.before, difference.after),
        after=_lines(difference.after, difference.before),
    )


def figure_words(pointer: str, before: Any, after: Any) -> str:  # noqa: ANN401 - any JSON value
    """Return a pointer into two results as words: `/lines/3/quantity` as `lines, ring, quantity`.

    A place in a list is told by the name of what stands there, where both results agree on it.
    """
    words = []
    for step in pointer.split("/")[1:]:
        before, after = _step(before, step), _step(after, step)
        if step.isdigit():
            names = {name for one in (before, after) if (name := _name(one))}
            words.append(names.pop() if len(names) == 1 else f"number {int(step) + 1}")
        else:
            words.append(in_words(step))
    return ", ".join(words) or "the whole result"


def _step(value: Any, step: str) -> Any:  # noqa: ANN401
    if isinstance(value, list):
        return value[int(step)] if step.isdigit() and int(step) < len(value) else None
    return value.get(step) if isinstance(value, dict) else None


def _name(value: object) -> str:
    """Return what an element of a list is called."""
    if not isinstance(value, dict):
        return ""
    name = next((str(value[key]) for key in _NAMES if value.get(key)), "")
    return in_words(name.rsplit(".", 1)[-1])


def _lines(value: Any, other: Any) -> tuple[Line, ...]:  # noqa: ANN401 - any JSON value
    """Return what stands in one answer; a length whose text the other has too with its value."""
    found = tuple(Line(label=label, text=text) for label, text in flat(value))
    if isinstance(value, dict) and isinstance(other, dict) and told(value) == told(other):
        aside = f"{value.get('value')} {value.get('unit')}"
        return tuple(msgspec.structs.replace(line, aside=aside) for line in found)
    return found
