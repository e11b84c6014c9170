"""The explanation of an answer: which rule entries each figure was computed from.

Every rule is described once, with what it says, where it comes from and where it is written.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec

from gapwright.rulesets.overlay import at
from gapwright.rulesets.ruleset import RuleSet

_DESCRIPTIONS = ("description", "text")


class ExplainedRule(msgspec.Struct, frozen=True, kw_only=True):
    """One rule entry: its content, and the file and line that wrote it last."""

    value: Any
    """The content of the entry, any JSON value."""
    description: str
    """What the rule file says about the entry."""
    source: str | None
    """The source that the rule file names, or null."""
    file: str
    """The rule file."""
    line: int
    """The line in that file."""


class ExplainedFigure(msgspec.Struct, frozen=True, kw_only=True):
    """A figure of the result, by its JSON Pointer, and the keys of the rules it follows from."""

    pointer: str
    """The JSON Pointer of the figure in `result`."""
    rules: tuple[str, ...]
    """The keys in `rules` that it was computed from."""


class Explanation(msgspec.Struct, frozen=True, kw_only=True):
    """The rules that the answer was computed from.

    A figure that is not listed follows from the rules of its nearest listed parent, or from the
    request alone.
    """

    rules: dict[str, ExplainedRule]
    """The rules that were read, by their dotted path."""
    figures: tuple[ExplainedFigure, ...]
    """The figures of the result, and the rules behind each."""


def explanation(rules: RuleSet) -> Explanation:
    """Return what a recording rule set has noted since it was made.

    A value that no file of the rule set writes has a default, and no entry to cite.
    """
    assert rules.recorder is not None
    read = dict.fromkeys(key for cited in rules.recorder.shown.values() for key in cited)
    keys = [key for key in read if at(dict(rules.content), tuple(key.split("."))) is not None]
    found = {
        pointer: tuple(key for key in cited if key in keys)
        for pointer, cited in rules.recorder.shown.items()
    }
    shown = {pointer: cited for pointer, cited in found.items() if cited}
    return Explanation(
        rules={key: _rule(key, rules) for key in keys},
        figures=tuple(ExplainedFigure(pointer=p, rules=cited) for p, cited in shown.items()),
    )


def _rule(key: str, rules: RuleSet) -> ExplainedRule:
    path = tuple(key.split("."))
    entries = list(_entries(path, rules.content))  # from the section down to the entry itself
    entry = entries[-1]
    last = rules.resolved.origins(path)[-1]
    return ExplainedRule(
        value=entry["value"] if isinstance(entry, dict) and "value" in entry else entry,
        description=_nearest(entries, _DESCRIPTIONS) or "",
        source=_nearest(entries, ("source",)),
        file=last.file,
        line=last.line,
    )


def _entries(path: tuple[str, ...], content: Any) -> Iterator[Any]:  # noqa: ANN401 - plain data
    for step in path:
        content = content[step]
        yield content


def _nearest(entries: list[Any], names: tuple[str, ...]) -> str | None:
    """Return what an entry says under one of some names, or else what the one around it says."""
    for entry in reversed(entries):
        for name in names:
            if isinstance(entry, dict) and isinstance(entry.get(name), str):
                return str(entry[name])
    return None
