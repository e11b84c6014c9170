"""What if: one job's answers under two versions, or everything that is wrong with the question."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from gapwright.api.body import malformed, parse_json, read_typed
from gapwright.api.openapi import example
from gapwright.api.problems import ProblemError
from gapwright.api.rules_pages.entries import Cell, Line
from gapwright.api.rules_pages.words import flat, in_words, text_of
from gapwright.calls.registry import BY_NAME
from gapwright.calls.request import BaseRequest
from gapwright.errors import Fault, InvalidRequestError
from gapwright.publishing.what_if import Difference, compare
from gapwright.rulesets.ruleset import RuleSet

MOST_FIGURES = 500
"""Figures that a page shows; a layout can differ in thousands."""
_RULE_CHOICES = ("ruleset", "as_of")


def example_job(call: str) -> str:
    """Return an example job of a call as JSON text, without members that choose the rules."""
    job = example(BY_NAME[call].examples[0])
    chosen = {name: part for name, part in job.items() if name not in _RULE_CHOICES}
    return json.dumps(chosen, indent=2, ensure_ascii=False)


def read_job(text: str, call: str) -> BaseRequest | None:
    """Return a job's form, None for an unknown call.

    Raises InvalidRequestError with every fault.
    """
    body = text.encode("utf-8", "surrogatepass")
    try:
        job = parse_json(body)
        if not isinstance(job, dict):
            raise malformed("The job is not a JSON object. Start with { and end with }.")
    except ProblemError as error:
        raise InvalidRequestError([_malformed(text, error)]) from None
    remedy = "Remove it. Choose the two versions in Before and After."
    faults = [
        Fault(path=(name,), problem="A job in a comparison cannot choose its rules.", remedy=remedy)
        for name in _RULE_CHOICES
        if name in job
    ]
    form = None
    if call in BY_NAME:
        try:
            form, _ = read_typed(BY_NAME[call].request, body)
        except InvalidRequestError as error:
            faults += [fault for fault in error.faults if fault.pointer[1:] not in _RULE_CHOICES]
    if faults:
        raise InvalidRequestError(faults)
    return form


def try_job(call: str, form: BaseRequest, before: RuleSet, after: RuleSet) -> dict[str, Any]:
    """Return for the page a job's results side by side.

    Raises InvalidRequestError with the faults under either version: one may know a zone that the
    other does not.
    """
    try:
        found = compare(call, form, before, after)
    except InvalidRequestError:
        faults = [*_faults_under(call, form, before), *_faults_under(call, form, after)]
        raise InvalidRequestError(list(dict.fromkeys(faults))) from None
    return {
        "found": found,
        "figures": [_figure(one) for one in found.differences[:MOST_FIGURES]],
        # that both answers took, where the versions' own differ and the job names none
        "units": after.units if before.units != after.units and form.units is None else "",
    }


def _faults_under(call: str, form: BaseRequest, rules: RuleSet) -> list[Fault]:
    try:
        compare(call, form, rules, rules)
    except InvalidRequestError as error:
        # their paths begin with `given`, the name of the job in a rule file's examples
        return [msgspec.structs.replace(fault, path=fault.path[1:]) for fault in error.faults]
    return []


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
    """Return why a text is no JSON, with the line if that is known."""
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
