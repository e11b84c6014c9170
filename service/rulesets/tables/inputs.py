"""What is wrong with the inputs to a table: every fault at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.errors import Fault
from service.rulesets.tables.model import Choice, Dimension, Flag, Range, Span
from service.rulesets.tables.names import unknown
from service.rulesets.tables.words import join, tell_condition, tell_value


def input_faults(dimensions: Sequence[Dimension], inputs: Mapping[str, object]) -> list[Fault]:
    """Return everything that keeps inputs from being looked up; paths are dimension names."""
    known = {dimension.name: dimension for dimension in dimensions}
    faults = [unknown((name,), "dimension", name, known) for name in inputs if name not in known]
    for name, dimension in known.items():
        fault = _value_fault(dimension, inputs[name]) if name in inputs else _missing(dimension)
        if fault is not None:
            faults.append(fault)
    return faults


def _missing(dimension: Dimension) -> Fault:
    return Fault(path=(dimension.name,), problem="It is missing.", remedy=_ask(dimension))


def _value_fault(dimension: Dimension, value: object) -> Fault | None:
    path = (dimension.name,)
    if isinstance(dimension, Choice) and isinstance(value, str):
        known = value in dimension.options
        return None if known else unknown(path, "option", value, dimension.options)
    if isinstance(dimension, Flag) and isinstance(value, bool):
        return None
    problem = f"{value!r} is no value of it."
    if isinstance(dimension, Span) and type(value) is int:
        if _inside(dimension, value):
            return None
        problem = f"{tell_value(dimension, value)} is outside its domain."
    return Fault(path=path, problem=problem, remedy=_ask(dimension))


def _inside(span: Span, value: int) -> bool:
    above = span.least is None or span.least <= value
    return above and (span.below is None or value < span.below)


def _ask(dimension: Dimension) -> str:
    if isinstance(dimension, Choice):
        return f"Give {join(dimension.options, 'or')}."
    if isinstance(dimension, Flag):
        return "Give true or false."
    anywhere = Span(name=dimension.name, tell=dimension.tell)
    domain = Range(least=dimension.least, below=dimension.below)
    return f"Give a whole number, {tell_condition(anywhere, (domain,))}."
