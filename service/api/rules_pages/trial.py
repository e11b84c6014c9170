"""What if: one job's answers under two versions, or everything that is wrong with the question."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from service.api.body import BodyReader, MalformedBodyError, parse_json
from service.api.operation import example
from service.api.rules_pages.entries import Line
from service.api.rules_pages.words import flat, in_words, text_of
from service.calls.computing import BY_NAME
from service.errors import BadInputError, Fault
from service.publishing.what_if import WhatIf, what_if
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name

MOST_FIGURES = 500
"""Figures that a page shows; a layout can differ in thousands."""
_RULE_CHOICES = ("ruleset", "as_of")


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One figure that differs, in words, with what stands there under both versions."""

    words: str
    pointer: str
    before: tuple[Line, ...]
    after: tuple[Line, ...]


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """A job's results under two versions, and the first figures that differ."""

    found: WhatIf
    figures: tuple[Figure, ...]
    units: str
    """The units that both answers took, where the versions' own differ and the job named none."""


def example_job(call: str) -> str:
    """Return an example job of a call as JSON text, without members that choose the rules."""
    job = example(BY_NAME[call].examples[0])
    return json.dumps(
        {name: part for name, part in job.items() if name not in _RULE_CHOICES},
        indent=2,
        ensure_ascii=False,
    )


def call_faults(call: str) -> list[Fault]:
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
    except MalformedBodyError as error:
        return {}, [_malformed(text, error)]
    remedy = "Leave it out: the two versions are chosen beside the job."
    faults = [
        Fault(path=(name,), problem="This would choose the rules.", remedy=remedy)
        for name in _RULE_CHOICES
        if name in job
    ]
    if call in BY_NAME:
        try:
            BodyReader(BY_NAME[call].form).read(body)
        except BadInputError as error:
            faults += [fault for fault in error.faults if fault.path[:1] not in _CHOICE_PATHS]
    return job, faults


def try_job(call: str, job: dict[str, Any], before: RuleSet, after: RuleSet) -> Trial:
    """Return a job's results side by side.

    Raises BadInputError with the faults under either version: one may know a zone that the other
    does not.
    """
    try:
        found = what_if(call, job, before, after)
    except BadInputError:
        raise BadInputError(_faults_of_both(call, job, before, after)) from None
    return Trial(
        found=found,
        figures=tuple(
            Figure(
                words=figure_words(one.figure),
                pointer=one.figure,
                before=_lines(one.before, one.after),
                after=_lines(one.after, one.before),
            )
            for one in found.differences[:MOST_FIGURES]
        ),
        units=after.units if before.units != after.units and not job.get("units") else "",
    )


_CHOICE_PATHS = {(name,) for name in _RULE_CHOICES}


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


def _faults_of_both(call: str, job: dict[str, Any], before: RuleSet, after: RuleSet) -> list[Fault]:
    found: list[Fault] = []
    for rules in (before, after):
        try:
            what_if(call, job, rules, rules)
        except BadInputError as error:
            # their paths begin with `given`, the name of the job in a rule file's examples
            found += [msgspec.structs.replace(f, path=f.path[1:]) for f in error.faults]
    return list(dict.fromkeys(found))


def figure_words(pointer: str) -> str:
    """Return a pointer into a result as words: `/lines/ring/quantity` as `lines, ring, quantity`.

    Things in a list that have no name go by their number, from 1.
    """
    steps = pointer.split("/")[1:]
    words = [f"number {int(step) + 1}" if step.isdigit() else in_words(step) for step in steps]
    return ", ".join(words) or "the whole result"


def _lines(value: Any, other: Any) -> tuple[Line, ...]:  # noqa: ANN401 - any JSON value
    """Return what stands in one answer; a length whose text the other has too with its value."""
    found = tuple(Line(label=label, text=text) for label, text in flat(value))
    if isinstance(value, dict) and isinstance(other, dict) and text_of(value) == text_of(other):
        aside = f"{value.get('value')} {value.get('unit')}"
        return tuple(msgspec.structs.replace(line, aside=aside) for line in found)
    return found
