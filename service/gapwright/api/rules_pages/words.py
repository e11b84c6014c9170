"""Rule-file content in words: names, values, conditions, needs and packs, as people say them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import Any

from gapwright.rulesets.tables import join

_IDENTIFIER = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)+")
_LENGTH = {"value", "unit", "text"}
_MEASURES = {
    "mesh_length": "the perimeter plus the waste factor",
    "cut_mesh": "the mesh as cut",
}


def in_words(name: str) -> str:
    """Return a name of a rule file as words: `rings_per_overlap` as `rings per overlap`."""
    return name.replace("_", " ")


def heading(name: str) -> str:
    """Return a name as words that begin with a capital."""
    words = in_words(name)
    return words[:1].upper() + words[1:]


def text_of(value: object) -> str:
    """Return one value as text: a length by its text, a list joined, a boolean as yes or no."""
    if value is None or isinstance(value, bool):
        return {None: "none", True: "yes", False: "no"}[value]
    if isinstance(value, (list, tuple)):
        # equal neighbors are written once, with their count
        groups = [(text, len(list(group))) for text, group in groupby(map(text_of, value))]
        texts = (f"{text} ({count} times)" if count > 1 else text for text, count in groups)
        return ", ".join(texts) or "none"
    if isinstance(value, Mapping):
        if _is_length(value):
            rounded = value.get("rounded")
            return f"{value['text']} (rounded {rounded})" if rounded else str(value["text"])
        parts = flat(value) if value else [("", "is there")]
        return "; ".join(f"{label} {text}".strip() for label, text in parts)
    text = str(value)
    return in_words(text) if _IDENTIFIER.fullmatch(text) else text


def flat(value: object, label: str = "") -> Iterator[tuple[str, str]]:
    """Yield the labels and texts of all that a value of a rule file or an answer contains."""
    if isinstance(value, Mapping) and value and not _is_length(value):
        for name, part in value.items():
            yield from flat(part, f"{label}, {in_words(name)}" if label else in_words(name))
    elif (
        isinstance(value, (list, tuple))
        and any(isinstance(one, Mapping) for one in value)
        and not all(map(_is_length, value))
    ):
        for number, one in enumerate(value, 1):
            yield from flat(one, f"{label} {number}".strip())
    else:
        yield label, text_of(value)


def condition(raw: object) -> str:
    """Return what a condition asks for: `slate or tile`, `yes`, `from 2 in to below 8 in`."""
    if isinstance(raw, Mapping):
        least, below = raw.get("at_least"), raw.get("below")
        if least is not None and below is not None:
            return f"from {least} to below {below}"
        return f"below {below}" if least is None else f"from {least} up"
    if isinstance(raw, list):
        return join([text_of(one) for one in raw], "or")
    return text_of(raw)


def conditions(when: Mapping[str, Any]) -> str:
    """Return conditions as `joining is rings and painted is spray`; empty where there is none."""
    return join([f"{in_words(name)} is {condition(raw)}" for name, raw in when.items()], "and")


def need(entry: Mapping[str, Any], *, measured: bool = False) -> str:
    """Return one need of a bill line: `one for each 6 ft of perimeter or part of it`."""
    if measured:
        driver = str(entry["driver"])
        return f"as much as {_MEASURES.get(driver, in_words(driver))}{_where(entry)}"
    amount = _amount(entry, entry.get("each", 1))
    part = "" if entry.get("one_per", 1) == 1 else " or part of it"
    return f"{amount}{part}{_where(entry)}"


def effort(entry: Mapping[str, Any]) -> str:
    """Return one reason for work: `6 min for each 10 ft of perimeter`, in proportion."""
    return f"{_amount(entry, entry['time'])}{_where(entry)}"


def pack(entry: Mapping[str, Any] | None) -> str:
    """Return what an item is sold in: `box of 100`, `roll of 100 ft or 50 ft`."""
    if entry is None:
        return "by the piece"
    name, size = entry["name"], entry["pack_size"]
    words = f"single {name}" if size == 1 else f"{name} of {size}"
    also = [str(other) for other in entry.get("also", ())]
    return f"{words} or {join(also, 'or')}" if also else words


def _amount(entry: Mapping[str, Any], each: object) -> str:
    """Return how much of something there is for how much of its driver."""
    driver, one_per = in_words(str(entry["driver"])), entry.get("one_per", 1)
    number = "one" if each == 1 else str(each)
    if isinstance(one_per, str):
        return f"{number} for each {one_per} of {_MEASURES.get(entry['driver'], driver)}"
    if one_per == 1:
        return f"{number} for each {driver.removesuffix('s')}"
    return f"{number} for every {one_per} {driver}"


def _where(entry: Mapping[str, Any]) -> str:
    where = conditions(entry.get("when", {}))
    return f", where {where}" if where else ""


def _is_length(value: object) -> bool:
    return isinstance(value, Mapping) and set(value) >= _LENGTH
