from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.lettering import width_px, wrapped
from service.drawing.svg import escaped, group, num, trail, words
from tests.unit.measures import STEADY


@STEADY
@given(st.text(alphabet=st.characters()))
def test_any_text_may_stand_between_tags_and_in_an_attribute(text):
    element = ElementTree.fromstring(f'<a b="{escaped(text)}">{escaped(text)}</a>')
    if text.isprintable() and text:
        assert element.text == text
        assert element.get("b") == text


def test_what_xml_forbids_is_left_out():
    assert escaped("a\x00b\x0b\ud800\ufffec\n") == "abc\n"
    assert escaped("<&\"'>") == "&lt;&amp;&quot;&#39;&gt;"


@pytest.mark.parametrize(
    ("value", "text"), [(1, "1"), (1.25, "1.2"), (-0.04, "0"), (1e5, "100000"), (-3.56, "-3.6")]
)
def test_numbers_have_one_decimal_at_most(value, text):
    assert num(value) == text


def test_an_empty_group_is_nothing():
    assert group("Tabs", []) == ""


def test_lettering_is_escaped_turned_and_anchored():
    text = ElementTree.fromstring(words("A<1", (3, 4), "t b", "end", -90, more=" & 10 ft"))
    assert "".join(text.itertext()) == "A<1 & 10 ft"
    assert text.get("text-anchor") == "end"
    assert text.get("transform") == "rotate(-90 3 4)"


def test_a_trail_goes_from_dot_to_dot():
    assert trail([(0, 0), (1.04, 2.06)], closed=True) == "M0 0L1 2.1Z"


@STEADY
@given(st.lists(st.text("abc mW.", min_size=1, max_size=12), max_size=20), st.integers(60, 400))
def test_wrapped_lines_keep_all_words_and_fit(parts, wide):
    text = " ".join(parts)
    lines = wrapped(text, wide)
    assert " ".join(lines).split() == text.split()
    assert all(width_px(line) <= wide or " " not in line for line in lines)
