"""Text of callers becomes a line that can be printed."""

from __future__ import annotations

import pytest
from gapwright.sheet.printable import breakable, breakable_lines

ZERO = "\u200b"


def test_plain_words_stay_as_they_are():
    assert breakable("12 Quarry Lane (invented)") == "12 Quarry Lane (invented)"


def test_control_characters_and_line_breaks_become_single_spaces():
    assert breakable("a\x00b\t c\r\nd \x1b[0m") == "a b c d [0m"


@pytest.mark.parametrize("length", [24, 25, 48, 120])
def test_a_long_word_can_be_broken_at_every_twenty_four_letters(length: int):
    found = breakable("W" * length)
    assert found.replace(ZERO, "") == "W" * length
    assert max(map(len, found.split(ZERO))) <= 24


def test_a_letter_is_never_parted_from_its_accents_nor_a_joined_sign_from_itself():
    accented = "e\u0301" * 30
    parts = breakable(accented).split(ZERO)
    assert all(part.startswith("e") for part in parts)
    joined = "x" * 23 + "👩\u200d🔧" + "y" * 30
    assert "👩\u200d🔧" in breakable(joined)


def test_lines_are_kept_without_those_at_the_ends():
    assert breakable_lines("\n\none\n\ntwo\n") == ["one", "", "two"]
    assert breakable_lines("  ") == []
