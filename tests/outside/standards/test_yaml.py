"""Rule files read as YAML 1.2.

Source: the YAML 1.2.2 specification (yaml.org), by way of ruamel.yaml, whose pure-Python reader
follows it; the service's own reader takes its events from another parser.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from gapwright.rulesets.reader import read
from hypothesis import assume, given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.compat import StringIO
from ruamel.yaml.error import YAMLError

RULES = Path(__file__).parents[3] / "rules"
FILES = sorted(RULES.rglob("*.yaml"))

words = st.text(st.characters(min_codepoint=0x20, max_codepoint=0xD7FF), max_size=30).filter(
    lambda text: (
        not set(text) & set("\x7f\x85\u2028\u2029\ufeff")
        and not _control(text)
        and text[:1] not in ("?", ":")
    )
)
"""Text that both may read: no control characters, no line breaks of YAML 1.1, no `?` in front.

Nor a colon: in flow style libyaml refuses one there, with its place, where YAML 1.2 lets it stand.
"""


def _control(text: str) -> bool:
    return any(0x7F <= ord(sign) < 0xA0 for sign in text)


def by_another(text: str) -> object:
    """Return what the other reader makes of a text, dates as they are written."""
    return plain(YAML(typ="safe", pure=True).load(text))


def plain(node: object) -> object:
    if isinstance(node, dict):
        return {name: plain(part) for name, part in node.items()}
    if isinstance(node, list):
        return [plain(part) for part in node]
    return node.isoformat() if isinstance(node, date) else node


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_shipped_files_read_alike(file: Path):
    assert read(file.read_bytes(), file.name).tree == by_another(file.read_text())


trees = st.recursive(
    st.one_of(words, st.booleans(), st.integers(-(10**9), 10**9), st.none()),
    lambda parts: st.one_of(st.lists(parts, max_size=4), st.dictionaries(words, parts, max_size=4)),
    max_leaves=12,
)


@given(st.dictionaries(words, trees, min_size=1, max_size=4), st.sampled_from([None, True, False]))
def test_whatever_the_other_writes_is_read_back(tree: dict[str, object], flow: bool | None):
    """In block style, in flow style, and in a mixture of both."""
    writer = YAML(typ="safe", pure=True)
    writer.default_flow_style = flow
    stream = StringIO()
    writer.dump(tree, stream)
    written = stream.getvalue()
    assume(reads_back(written, tree))
    assert read(written.encode(), "f").tree == tree


def reads_back(written: str, tree: object) -> bool:
    """Return whether the other reads what it wrote, which it does not always."""
    try:
        return by_another(written) == tree
    except YAMLError:
        return False
