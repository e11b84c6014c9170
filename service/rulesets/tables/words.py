"""Conditions and boxes told as a person would say them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from service.rulesets.tables.model import Box, Choice, Condition, Dimension, Range, Span


def join(words: Sequence[str], last: str) -> str:
    """Return `a, b and c` for the words and the last joint."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def tell_rows(ids: Sequence[str], most: int = 5) -> str:
    """Return `row a`, `rows a and b` or, past `most`, `rows a, b, c, d and 12 more`."""
    if len(ids) == 1:
        return f"row {ids[0]}"
    if len(ids) > most:
        return f"rows {', '.join(ids[: most - 1])} and {len(ids) - most + 1} more"
    return f"rows {join(ids, 'and')}"


def tell_box(dimensions: Iterable[Dimension], box: Box) -> str:
    """Return a box as `covering = slate, clearance from 8 in up`; nothing for the whole space."""
    return ", ".join(
        f"{dimension.name} {_verb(dimension)}{tell_condition(dimension, box[dimension.name])}"
        for dimension in dimensions
        if dimension.name in box
    )


def tell_condition(dimension: Dimension, condition: Condition) -> str:
    """Return a condition as `slate or tile`, `true`, or `below 2 in or from 8 in up`."""
    if isinstance(condition, bool):
        return tell_value(dimension, condition)
    if isinstance(condition, frozenset):
        return _tell_options(dimension, condition)
    words = [_tell_range(dimension, one) for one in condition]
    return join(words, "or") or "nothing"


def tell_value(dimension: Dimension, value: object) -> str:
    """Return one value of a dimension as text."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(dimension, Span) and isinstance(value, int):
        return dimension.tell(value)
    return str(value)


def _verb(dimension: Dimension) -> str:
    return "" if isinstance(dimension, Span) else "= "


def _tell_options(dimension: Dimension, options: frozenset[str]) -> str:
    known = dimension.options if isinstance(dimension, Choice) else tuple(sorted(options))
    inside = [option for option in known if option in options]
    outside = [option for option in known if option not in options]
    if outside and len(inside) > max(3, len(outside)):
        return f"anything but {join(outside, 'or')}"
    return join(inside, "or") or "nothing"


def _tell_range(dimension: Dimension, one: Range) -> str:
    if one.least is not None and one.below is not None and one.below - one.least == 1:
        return f"exactly {tell_value(dimension, one.least)}"
    least, below = _inner_ends(dimension, one)
    if least is None or below is None:
        return _tell_open(dimension, least, below)
    start, end = tell_value(dimension, least), tell_value(dimension, below)
    if start == end:
        start, end = f"{start} ({least})", f"{end} ({below})"
    return f"from {start} to below {end}"


def _tell_open(dimension: Dimension, least: int | None, below: int | None) -> str:
    if least is not None:
        return f"from {tell_value(dimension, least)} up"
    if below is not None:
        return f"below {tell_value(dimension, below)}"
    return "anything"


def _inner_ends(dimension: Dimension, one: Range) -> tuple[int | None, int | None]:
    """Return the ends of a range, None where it reaches the end of the dimension's domain."""
    least, below = one.least, one.below
    if not isinstance(dimension, Span):
        return least, below
    if least is not None and dimension.least is not None and least <= dimension.least:
        least = None
    if below is not None and dimension.below is not None and below >= dimension.below:
        below = None
    return least, below
