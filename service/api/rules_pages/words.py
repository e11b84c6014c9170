"""Rule-file content in words: names, values, conditions, needs and packs, as people say them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from service.rulesets.tables.words import join

_NAME = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)+")
_LENGTH = {"value", "unit", "text"}

_MEASURES = {
    "perimeter": "perimeter",
    "mesh_length": "the perimeter and the mesh allowance",
    "cut_mesh": "the mesh that the pieces take",
}
_ONES = {
    "corners": "corner",
    "penetrations": "penetration",
    "pieces": "piece",
    "laps": "lap",
    "lap_rings": "ring in a lap",
    "lap_ties": "tie in a lap",
    "tabs": "tab",
    "returns": "return",
    "job": "job",
    "planes": "roof plane",
    "arrays": "array",
}


def in_words(name: str) -> str:
    """Return a name of a rule file as words: `lap_rings` as `lap rings`."""
    return name.replace("_", " ")


def heading(name: str) -> str:
    """Return a name as words that begin with a capital."""
    words = in_words(name)
    return words[:1].upper() + words[1:]


def told(value: object) -> str:
    """Return one value as text: a length by its text, a list joined, a boolean as yes or no."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return _told_mapping(value)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return ", ".join(_counted([told(one) for one in value])) or "none"
    text = str(value)
    return in_words(text) if _NAME.fullmatch(text) else text


def flat(value: object, label: str = "") -> Iterator[tuple[str, str]]:
    """Yield the labels and texts of all that a value of a rule file or an answer holds."""
    if isinstance(value, Mapping) and value and not set(value) >= _LENGTH:
        for name, part in value.items():
            yield from flat(part, f"{label}, {in_words(name)}" if label else in_words(name))
    elif isinstance(value, (list, tuple)) and any(isinstance(one, Mapping) for one in value):
        if all(_is_length(one) for one in value):
            yield label, told(value)
            return
        for at, one in enumerate(value, 1):
            yield from flat(one, f"{label} {at}".strip())
    else:
        yield label, told(value)


def folded(value: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield a label and a text for each thing that a request or an answer speaks of."""
    for name, part in value.items():
        if isinstance(part, Mapping) and any(isinstance(one, Mapping) for one in part.values()):
            for inner, one in part.items():
                yield f"{in_words(name)}, {in_words(inner)}", told(one)
        else:
            yield in_words(name), told(part)


def condition(raw: object) -> str:
    """Return what a condition asks for: `slate or tile`, `yes`, `from 2 in to below 8 in`."""
    if isinstance(raw, Mapping):
        least, below = raw.get("from"), raw.get("below")
        if least is not None and below is not None:
            return f"from {least} to below {below}"
        return f"below {below}" if least is None else f"from {least} up"
    if isinstance(raw, list):
        return join([told(one) for one in raw], "or")
    return told(raw)


def conditions(when: Mapping[str, Any]) -> str:
    """Return conditions as `joining is rings and painted is spray`; empty where there is none."""
    return join([f"{in_words(name)} is {condition(raw)}" for name, raw in when.items()], "and")


def need(entry: Mapping[str, Any], *, measured: bool) -> str:
    """Return one need of a bill line: `one for each 6 ft of perimeter or part of it`."""
    driver = str(entry["driver"])
    words = _amount(entry.get("each", 1), entry.get("one_per"), driver, measured=measured)
    where = conditions(entry.get("when", {}))
    return f"{words}, where {where}" if where else words


def effort(entry: Mapping[str, Any]) -> str:
    """Return one reason for work: `6 min for each 10 ft of perimeter`, in proportion."""
    driver, one_per = str(entry["driver"]), entry.get("one_per")
    if isinstance(one_per, str):
        words = f"{entry['time']} for each {one_per} of {_MEASURES.get(driver, in_words(driver))}"
    elif one_per in (None, 1):
        words = f"{entry['time']} for each {_ONES.get(driver, in_words(driver))}"
    else:
        words = f"{entry['time']} for every {one_per} {in_words(driver)}"
    where = conditions(entry.get("when", {}))
    return f"{words}, where {where}" if where else words


def ratio(entry: Mapping[str, Any], standard: Mapping[str, Any]) -> str:
    """Return a ratio of a need in a zone; what it does not say is as in the bill."""
    merged = {**standard, **entry}
    words = _amount(
        merged.get("each", 1), merged.get("one_per"), str(merged["driver"]), measured=False
    )
    return words.removesuffix(" or part of it")


def pack(entry: Mapping[str, Any] | None) -> str:
    """Return what an item is sold in: `box of 100`, `roll of 100 ft, also of 50 ft`."""
    if entry is None:
        return "by the piece"
    name, holds = entry["name"], entry["holds"]
    words = f"single {name}" if holds == 1 else f"{name} of {holds}"
    also = [str(size) for size in entry.get("also", ())]
    return f"{words}, also of {join(also, 'or')}" if also else words


def _amount(each: object, one_per: object, driver: str, *, measured: bool) -> str:
    number = "one" if each == 1 else str(each)
    if measured:
        return f"as much as {_MEASURES.get(driver, in_words(driver))}"
    if isinstance(one_per, str):
        measure = _MEASURES.get(driver, in_words(driver))
        return f"{number} for each {one_per} of {measure} or part of it"
    if one_per in (None, 1):
        return f"{number} for each {_ONES.get(driver, in_words(driver))}"
    return f"{number} for every {one_per} {in_words(driver)} or part of them"


def _told_mapping(value: Mapping[str, Any]) -> str:
    if _is_length(value):
        rounded = value.get("rounded")
        return f"{value['text']} (rounded {rounded})" if rounded else str(value["text"])
    if not value:
        return "is there"
    return "; ".join(f"{label} {text}".strip() for label, text in flat(value))


def _is_length(value: object) -> bool:
    return isinstance(value, Mapping) and set(value) >= _LENGTH


def _counted(texts: Sequence[str]) -> Iterator[str]:
    """Yield texts, one that is repeated straight on only once, with its count."""
    for text, group in groupby(texts):
        times = len(list(group))
        yield text if times == 1 else f"{text} ({times} times)"
