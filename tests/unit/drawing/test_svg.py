from __future__ import annotations

from xml.etree import ElementTree

import pytest
from gapwright.drawing.svg import (
    Block,
    columns,
    element,
    escape,
    group,
    number,
    polyline,
    side_by_side,
    stack,
    text,
    text_width,
    wrap,
)
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import STEADY


@STEADY
@given(st.text(alphabet=st.characters()))
def test_any_text_may_stand_between_tags_and_in_an_attribute(text):
    element = ElementTree.fromstring(f'<a b="{escape(text)}">{escape(text)}</a>')
    if text.isprintable() and text:
        assert element.text == text
        assert element.get("b") == text


def test_what_xml_forbids_is_left_out():
    assert escape("a\x00b\x0b\ud800\ufffec\n") == "abc\n"
    assert escape("<&\"'>") == "&lt;&amp;&quot;&#39;&gt;"


@pytest.mark.parametrize(
    ("value", "text"), [(1, "1"), (1.25, "1.2"), (-0.04, "0"), (1e5, "100000"), (-3.56, "-3.6")]
)
def test_numbers_have_one_decimal_at_most(value, text):
    assert number(value) == text


def test_whatever_an_attribute_says_is_escaped():
    assert element("a", stroke_width=1.25, aria_label='"<') == (
        '<a stroke-width="1.2" aria-label="&quot;&lt;"/>'
    )


def test_blocks_are_put_together_with_a_gap_and_without_empty_ones():
    full = Block(width=30, height=10, body="<a/>")
    below, beside = stack([full, Block(width=9, height=9), full], 5), side_by_side(full, full, 5)
    assert (below.width, below.height) == (30, 25)
    assert (beside.width, beside.height) == (65, 10)
    assert below.body.count("<a/>") == 2


def test_rows_fill_as_many_columns_as_fit():
    rows = [Block(width=30, height=10, body="<a/>")] * 7
    whole = columns(rows, 120, gap=12)
    assert (whole.width, whole.height) == (3 * 30 + 2 * 12, 30)
    assert whole.body.count("<a/>") == 7


def test_an_empty_group_is_nothing():
    assert group("Tabs") == ""


def test_text_is_escaped_and_anchored():
    drawn = text("A<1 & 10 ft", 3 + 4j, "t b", anchor="end")
    found = ElementTree.fromstring(drawn)
    assert "".join(found.itertext()) == "A<1 & 10 ft"
    assert found.get("text-anchor") == "end"


def test_a_polyline_goes_from_point_to_point():
    assert polyline([0, 1.04 + 2.06j], closed=True) == "M0 0L1 2.1Z"


@STEADY
@given(st.lists(st.text("abc mW.", min_size=1, max_size=12), max_size=20), st.integers(60, 400))
def test_wrapped_lines_keep_all_words_and_fit(parts, wide):
    words = " ".join(parts)
    lines = wrap(words, wide)
    assert " ".join(lines).split() == words.split()
    assert all(text_width(line) <= wide or " " not in line for line in lines)
