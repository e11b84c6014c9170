"""Which rules an example can tell the change of: those that what it expects follows from.

An example looks at some figures of its answer, and the trace says which rules they follow from. A
rule that none of them follows from can change without the example failing, so it need not be tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from service.calc.trace import Step
from service.errors import BadInputError
from service.publishing.examples import answer_example, lays_out, named_place
from service.rulesets.ruleset import RuleSet
from service.rulesets.schema import ExampleEntry
from service.rulesets.values import LAID_OUT

ANY_LINE = "bill."
"""What is reached by an example that looks at lines of a bill."""

ROLLS = "rolls"
"""What is reached by an example whose mesh must be sold in rolls of some length."""

_LAYOUT = frozenset(f"values.{name}" for name in LAID_OUT)


def reaches(rules: RuleSet) -> dict[str, list[str]]:
    """Return for each rule, and each dotted beginning of one, the examples that can tell it."""
    found: dict[str, list[str]] = {}
    for name in rules.examples:
        for rule in reach(name, rules):
            found.setdefault(rule, []).append(name)
    return found


def reach(name: str, rules: RuleSet) -> set[str]:
    """Return the rules that an example can tell the change of, with their dotted beginnings.

    A table is reached by every example that asks it: without one of its rows it may not answer. An
    example that lays an array out reaches all that layouts go by, for their trace tells less.
    """
    example = rules.examples[name]
    try:
        found = answer_example(example, rules)
    except BadInputError:
        return set()
    looked = list(_looked_at(example.expect, found.answer, ""))
    cited = {
        rule
        for step in found.trace
        for rule in step.cites
        if rule.startswith("tables.") or any(_meets(step, figure) for figure in looked)
    }
    cited |= set(_line_rules(example, looked))
    if lays_out(example):
        cited |= {*_LAYOUT, ROLLS}
    return {beginning for rule in cited for beginning in _beginnings(rule)}


def _looked_at(expected: Any, found: Any, figure: str) -> Iterator[str]:  # noqa: ANN401
    """Yield the JSON pointer of each part of an answer that an expectation looks at.

    What is expected to be absent is told by its name.
    """
    if isinstance(expected, Mapping) and expected:
        for name, part in expected.items():
            place = named_place(found, name)
            one = found[place] if place is not None else None
            yield from _looked_at(part, one, f"{figure}/{name if place is None else place}")
    else:
        yield figure


def _meets(step: Step, figure: str) -> bool:
    """Return whether a step tells of a figure, of a part of it or of what it is a part of."""
    one, other = f"{step.figure}/", f"{figure}/"
    return one.startswith(other) or other.startswith(one)


def _line_rules(example: ExampleEntry, looked: Iterable[str]) -> Iterator[str]:
    """Yield what an example of a bill reaches beyond the trace of its lines.

    A line that must be absent has no step, and a roll that is asked for must be one that is sold.
    """
    if example.call == "materials":
        lines = [figure.split("/")[2:3] for figure in looked if figure.split("/")[1:2] == ["lines"]]
        if lines:
            yield ANY_LINE
        yield from (f"{ANY_LINE}{line[0]}" for line in lines if line and not line[0].isdigit())
    if "roll_length" in example.given:
        yield ROLLS


def _beginnings(rule: str) -> Iterator[str]:
    """Yield a rule, and its beginnings with their dots: `bill.`, `bill.screw.`."""
    steps = rule.split(".")
    yield rule
    for length in range(1, len(steps)):
        yield ".".join(steps[:length]) + "."
    if len(steps) == 2:
        yield f"{rule}."
