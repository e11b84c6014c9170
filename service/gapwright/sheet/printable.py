"""Make callers' text fit for a printed line."""

from __future__ import annotations

import re
from typing import Any
from unicodedata import category

_MAX_UNBROKEN = 24
_ZERO_WIDTH_SPACE = "\u200b"
_JOINERS = "\u200d\ufe0e\ufe0f"
_LONG_WORD = re.compile(rf"\S{{{_MAX_UNBROKEN},}}")


def single_line(text: str) -> str:
    """Return text as one line without control characters."""
    visible = "".join(" " if category(char) == "Cc" else char for char in text)
    return " ".join(visible.split())


def breakable(text: str) -> str:
    """Return text as one line in which a word longer than a column may be broken."""
    return _LONG_WORD.sub(lambda word: _break(word.group()), single_line(text))


def breakable_texts(data: Any) -> Any:  # noqa: ANN401 - any JSON value
    """Return plain data, all of whose texts may be broken."""
    if isinstance(data, dict):
        return {name: breakable_texts(value) for name, value in data.items()}
    if isinstance(data, list):
        return [breakable_texts(value) for value in data]
    return breakable(data) if isinstance(data, str) else data


def breakable_lines(text: str) -> list[str]:
    """Return text with its own line breaks, without empty lines at either end."""
    return [breakable(line) for line in text.strip().splitlines()]


def _break(word: str) -> str:
    """Return a word with places to break, none within a letter and its accents or an emoji."""
    parts: list[str] = []
    length = 0
    for char in word:
        joined = char in _JOINERS or category(char).startswith("M")
        if length >= _MAX_UNBROKEN and not joined and parts[-1] not in _JOINERS:
            parts.append(_ZERO_WIDTH_SPACE)
            length = 0
        parts.append(char)
        length += 1
    return "".join(parts)
