"""Rule sets that the tests share: the baseline, and copies of it with something changed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import msgspec
from gapwright.rulesets.build.build import RULE_SETS, build
from gapwright.rulesets.reader import Document, Problem, RuleFileError, read
from gapwright.rulesets.resolve import resolve
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.values import Values

from tests.history import RULES as HISTORY

BASELINE = HISTORY / "baseline" / "1.0.0.yaml"


@lru_cache(maxsize=1)
def baseline_text() -> str:
    return BASELINE.read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def house_text() -> str:
    """Return the baseline without examples, zones and most cautions: it is read twice as fast."""
    text = baseline_text()
    for place in ("examples", "zones", *(f"cautions.{name}" for name in _UNUSED)):
        start, end = _block(text, place)
        text = text[:start] + text[end:]
    return text


_UNUSED = ("anchors", "ladders", "bonding", "dangling_wires", "sharp_edges", "module_back", "wind")
_UNUSED += (
    "wire_clips",
    "manufacturers",
    "fire_access",
    "overspray",
    "local_code",
    "live_conductors",
)


def edited(*changes: tuple[str, str]) -> str:
    """Return the house file with texts replaced, each of which stands in it exactly once."""
    text = house_text()
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the file"
        text = text.replace(old, new)
    return text


def added(section: str, entry: str) -> str:
    """Return the house file with an entry (indented by two) at the top of a section."""
    return edited((f"\n{section}:\n", f"\n{section}:\n{entry}"))


def rules_of(text: str) -> RuleSet:
    return read_whole(text.encode())


def problems_of(data: str | bytes) -> tuple[Problem, ...]:
    """Return what is wrong with a rule file; none when it is valid."""
    try:
        read_whole(data if isinstance(data, bytes) else data.encode())
    except RuleFileError as error:
        return error.problems
    return ()


def read_whole(data: bytes) -> RuleSet:
    """Return the rule set of a file that is based on no other. Raises RuleFileError."""
    return build(resolve(read(data, "house.yaml"), _nothing, RULE_SETS))


def _nothing(name: str) -> Document:
    raise KeyError(f"{name} is not here.")


@lru_cache(maxsize=1)
def baseline() -> RuleSet:
    return rules_of(baseline_text())


def values(**changes: Any) -> Values:
    """Return the baseline values with some of them replaced, in base units."""
    return msgspec.structs.replace(baseline().values, **changes)


def with_values(changes: Mapping[str, Any]) -> RuleSet:
    """Return the baseline with some of its values replaced, in base units."""
    return msgspec.structs.replace(baseline(), values=values(**changes))


def spoiled(place: str, old: str, new: str) -> tuple[str, int]:
    """Return the house file with `old` replaced in one entry, and the line of what replaced it.

    `place` is a section, `values`, or an entry of one, `values.overlap_length`.
    """
    text = house_text()
    start, end = _block(text, place)
    block = text[start:end]
    assert block.count(old) == 1, f"{old!r} stands {block.count(old)} times in {place}"
    at = start + block.index(old)
    found = text[:at] + new + text[at + len(old) :]
    lead = len(new) - len(new.lstrip("\n"))
    return found, found.count("\n", 0, at + lead) + 1


def _block(text: str, place: str) -> tuple[int, int]:
    start, end = 0, len(text)
    for depth, name in enumerate(place.split(".") if place else ()):
        indent = "  " * depth
        start = text.index(f"\n{indent}{name}:", start, end) + 1
        later = re.compile(rf"^ {{0,{2 * depth}}}[^\s#]", re.MULTILINE)
        following = later.search(text, text.index("\n", start) + 1, end)
        end = following.start() if following else end
    return start, end
