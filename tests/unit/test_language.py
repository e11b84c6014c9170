"""Plain US English in all that people read: no private words, no British spelling."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SERVICE = ROOT / "service" / "gapwright"
BANNED = re.compile(
    r"\b(told|untold|reckon\w*|senseless|laps?|lapped|lapping|storeys?|labour|surcharges?|"
    r"(?:nano|milli|centi)metres?|metres|centres?|colou?red by hand|colour\w*|grey|neighbour\w*|"
    r"comes to|a hair|so many|is kept|are kept|stands? in(?! for)|nothing stands|makers?|"
    r"a overlap|a edge)\b",
    re.IGNORECASE,
)
TEXTS = [
    *(ROOT / name for name in ("README.md", "DEVELOPERS.md", "openapi/CHANGELOG.md")),
    ROOT / "openapi" / "openapi.json",
    *sorted((ROOT / "rules").rglob("*.yaml")),
    *sorted(path for path in SERVICE.rglob("*") if path.suffix in {".html", ".typ"}),
    *sorted(SERVICE.rglob("*.py")),
]


def found_in(text: str) -> Iterator[str]:
    for number, line in enumerate(text.splitlines(), 1):
        for match in BANNED.finditer(line):
            yield f"{number}: {match[0]}: {line.strip()[:100]}"


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_text_uses_a_private_word(path: Path):
    assert list(found_in(path.read_text(encoding="utf-8"))) == []


def test_banned_words_are_found():
    assert list(found_in("Rails are told as they lie.\nA lap of two pieces."))


def test_every_public_name_has_a_docstring_that_ends_a_sentence():
    """A docstring is a sentence: it says what is returned, and ends with a period."""
    unfinished = []
    for path in sorted(SERVICE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
                text = ast.get_docstring(node)
                if text and text.split("\n\n")[0].rstrip()[-1] not in ".:!?":
                    unfinished.append(f"{path.relative_to(ROOT)}:{node.lineno}: {node.name}")
    assert unfinished == []
