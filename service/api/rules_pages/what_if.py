"""What if: one job's answers under two versions, or everything that is wrong with the question."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from service.api.body import malformed, parse_json, read_form
from service.api.operation import example
from service.api.problems import ProblemError
from service.api.rules_pages.entries import Cell, Line
from service.api.rules_pages.words import flat, in_words, text_of
from service.calls.registry import BY_NAME
from service.errors import BadInputError, Fault
from service.publishing.what_if import Difference, what_if
from service.rulesets.ruleset import RuleSet

MOST_FIGURES = 500
"""Figures that a page shows; a layout can differ in thousands."""
_RULE_CHOICES = ("ruleset", "as_of")


def example_job(call: str) -> str:
    """Return an example job of a call as JSON text, without members that choose the rules."""
    job = example(BY_NAME[call].examples[0])
    chosen = {name: part for name, part in job.items() if name not in _RULE_CHOICES}
    return json.dumps(chosen, indent=2, ensure_ascii=False)


def read_job(text: str, call: str) -> dict[str, Any]:
    """Return a job as plain data. Raises BadInputError with everything that is wrong with it."""
    body = text.encode("utf-8", "surrogatepass")
    try:
        job = parse_json(body)
        if not isinstance(job, dict):
            raise malformed("The job is no JSON object. Begin with { and end with }.")
    except ProblemError as error:
        raise BadInputError([_malformed(text, error)]) from None
    remedy = "Leave it out: the two versions are chosen beside the job."
    faults = [
        Fault(path=(name,), problem="This would choose the rules.", remedy=remedy)
        for name in _RULE_CHOICES
        if name in job
    ]
    if call in BY_NAME:
        try:
            read_form(BY_NAME[call].form, body)
        except BadInputError as error:
            faults += [fault for fault in error.faults if fault.path[:1] not in _CHOICE_PATHS]
    if faults:
        raise BadInputError(faults)
    return job


_CHOICE_PATHS = {(name,) for name in _RULE_CHOICES}


def try_job(call: str, job: dict[str, Any], before: RuleSet, after: RuleSet) -> dict[str, Any]:
    """Return for the page a job's results side by side.

    Raises BadInputError with the faults under either version: one may know a zone that the other
    does not.
    """
    try:
        found = what_if(call, job, before, after)
    except BadInputError:
        raise BadInputError(_faults_of_both(call, job, before, after)) from None
    return {
        "found": found,
        "figures": [_figure(one) for one in found.differences[:MOST_FIGURES]],
        # that both answers took, where the versions' own differ and the job names none
        "units": after.units if before.units != after.units and not job.get("units") else "",
    }


def _faults_of_both(call: str, job: dict[str, Any], before: RuleSet, after: RuleSet) -> list[Fault]:
    found: list[Fault] = []
    for rules in (before, after):
        try:
            what_if(call, job, rules, rules)
        except BadInputError as error:
            # their paths begin with `given`, the name of the job in a rule file's examples
            found += [msgspec.structs.replace(f, path=f.path[1:]) for f in error.faults]
    return list(dict.fromkeys(found))


def _figure(one: Difference) -> dict[str, Any]:
    """Return a figure that differs, in words, with what both versions answer there.

    Things in a list that have no name go by their number, from 1.
    """
    steps = one.figure.split("/")[1:]
    words = [f"number {int(step) + 1}" if step.isdigit() else in_words(step) for step in steps]
    return {
        "words": ", ".join(words) or "the whole result",
        "pointer": one.figure,
        "before": _lines(one.before, one.after),
        "after": _lines(one.after, one.before),
    }


def _malformed(text: str, error: ProblemError) -> Fault:
    """Return why a text is no JSON, with the line where that can be told."""
    try:
        json.loads(text)
    except json.JSONDecodeError as found:
        problem = f"Line {found.lineno}, column {found.colno}: this is not JSON. {found.msg}."
        return Fault(path=(), problem=problem, remedy="Write one JSON object.")
    except (ValueError, RecursionError):
        pass
    return Fault(path=(), problem=str(error))


def _lines(value: Any, other: Any) -> Cell:  # noqa: ANN401 - any JSON value
    """Return what one answer says; a length whose text the other has too, with its value."""
    alike = isinstance(value, dict) and isinstance(other, dict) and text_of(value) == text_of(other)
    aside = f"{value.get('value')} {value.get('unit')}" if alike else ""
    return tuple(Line(label=label, text=text, aside=aside) for label, text in flat(value))
