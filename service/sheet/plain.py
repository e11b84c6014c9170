"""Text of callers, made fit for a printed line."""

from __future__ import annotations

import re
from unicodedata import category

_LONGEST = 24
_BREAK = "\u200b"
_JOINERS = "\u200d\ufe0e\ufe0f"
_WORD = re.compile(rf"\S{{{_LONGEST},}}")


def line(text: str) -> str:
    """Return text as one line: no control characters, and a word of any length can be broken."""
    return _breakable(unbroken(text))


def unbroken(text: str) -> str:
    """Return text as one line that nothing breaks, for where it is not printed."""
    return " ".join(_seen(text).split())


def lines(text: str) -> list[str]:
    """Return text with its own line breaks, without empty lines at either end."""
    return [line(part) for part in text.strip().splitlines()]


def _seen(text: str) -> str:
    """Return text without the characters that control a terminal, a file or the way of reading."""
    return "".join(" " if category(letter) == "Cc" else letter for letter in text)


def _breakable(text: str) -> str:
    """Return text with a place to break in words that are longer than a column may be."""
    return _WORD.sub(lambda found: _divided(found.group()), text)


def _divided(word: str) -> str:
    parts: list[str] = []
    length = 0
    for letter in word:
        together = letter in _JOINERS or category(letter).startswith("M")
        if length >= _LONGEST and not together and parts[-1] not in _JOINERS:
            parts.append(_BREAK)
            length = 0
        parts.append(letter)
        length += 1
    return "".join(parts)
