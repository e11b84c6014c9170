"""What two versions say of one thing, side by side, with the words that differ marked."""

from __future__ import annotations

from difflib import SequenceMatcher

import msgspec

from service.api.rules_pages.cells import Cell, Line


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """What two versions say of one thing; the words that only one of them has are marked."""

    title: str
    before: Cell
    after: Cell


def pair(title: str, before: Cell, after: Cell) -> Pair:
    """Return two cells, and in each the words that the other has not, marked."""
    old, new = ({line.label: line.text for line in cell} for cell in (before, after))
    return Pair(
        title=title,
        before=tuple(_marked(line, new) for line in before),
        after=tuple(_marked(line, old) for line in after),
    )


def _marked(line: Line, others: dict[str, str]) -> Line:
    """Return a line without its links; a text with nothing in common with the other has no marks.

    Whole words are compared, in their order.
    """
    words, other = line.text.split(" "), others.get(line.label, "").split(" ")
    blocks = SequenceMatcher(None, other, words, autojunk=False).get_opcodes()
    parts = [
        (" ".join(words[start:end]), kind != "equal")
        for kind, _, _, start, end in blocks
        if start < end
    ]
    mixed = len({marked for _, marked in parts}) > 1
    return Line(text=line.text, label=line.label, parts=tuple(parts) if mixed else ())
