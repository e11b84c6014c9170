"""Clips along a straight stretch, against a closed formula and an independent check."""

from __future__ import annotations

from itertools import pairwise
from math import ceil

from gapwright.calc.layout.clips import ClipRules, place_clips
from hypothesis import given
from hypothesis import strategies as st

IN = 25_400_000
RULES = ClipRules(spacing_nm=18 * IN, setback_nm=6 * IN, clear_nm=3 * IN, mark_nm=IN // 16)


@given(st.integers(1, 2000))
def test_a_plain_side_has_as_many_as_the_formula_says(inches: int):
    """n clips span n - 1 spaces of at most 18 in between the setbacks of 6 in at both ends."""
    found = place_clips((0, inches * IN), (), (), RULES)
    assert len(found) == (1 if inches <= 12 else ceil((inches - 12) / 18) + 1)


def test_a_side_of_ten_feet():
    assert [at / IN for at in place_clips((0, 120 * IN), (), (), RULES)] == [
        6,
        24,
        42,
        60,
        78,
        96,
        114,
    ]


def test_an_overlap_has_one_on_each_side():
    found = place_clips((0, 120 * IN), [(57 * IN, 63 * IN)], (), RULES)
    assert {51 * IN, 69 * IN} <= set(found)
    assert not any(57 * IN <= at <= 63 * IN for at in found)


@st.composite
def stretches(draw: st.DrawFn):
    length = draw(st.integers(1, 600))
    overlaps, at = [], draw(st.integers(13, 130))
    while at + 20 < length:
        overlaps.append((at * IN, (at + draw(st.integers(6, 18))) * IN))
        at += draw(st.integers(40, 130))
    clamps = draw(st.lists(st.integers(0, length * 16), max_size=4))
    return length * IN, overlaps, [clamp * IN // 16 for clamp in clamps]


@given(stretches())
def test_spacing_setback_and_distances_hold(stretch):
    length, overlaps, clamps = stretch
    found = place_clips((0, length), overlaps, clamps, RULES)
    assert found
    assert list(found) == sorted(set(found))
    assert found[0] >= 0
    assert found[-1] <= length
    clear = [at for at in found if all(abs(at - clamp) >= 3 * IN for clamp in clamps)]
    if not clamps:
        assert all(b - a <= 18 * IN for a, b in pairwise(found))
        if length > 12 * IN:
            assert (found[0], found[-1]) == (6 * IN, length - 6 * IN)
    elif length > 60 * IN:
        assert clear == list(found)
        # a clamp can push a clip at most to its far side
        assert all(b - a <= (18 + 6 * len(clamps)) * IN for a, b in pairwise(found))


def test_thousands_of_clamps_along_one_side_leave_a_clip_between_each_pair_or_so():
    """Clamps 9 in apart leave 3 in free between them."""
    length = 1500 * 12 * IN
    clamps = [9 * IN * number for number in range(2001)]
    found = place_clips((0, length), (), clamps, RULES)
    assert all(3 * IN <= at % (9 * IN) <= 6 * IN for at in found)
    assert all(b - a <= 18 * IN for a, b in pairwise(found))
