"""The cut plan against oracles that share no code with it.

Up to seven pieces: every way to share them out among rolls. A few dozen: the linear and the integer
program over rolls and pieces, not patterns, by way of scipy.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from gapwright.calc.cutting import WantedPiece, cut_plan
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from tests.unit.measures import IN, STEADY

FEW = st.lists(st.integers(9, 60), min_size=1, max_size=7)
UNITS = st.sampled_from([1, 7, IN // 16, IN])
DOZENS = st.dictionaries(st.integers(12, 50), st.integers(1, 8), min_size=2, max_size=5)


def planned(lengths, roll):
    return cut_plan([WantedPiece(length_nm=nm) for nm in lengths], roll)


def sharings(pieces: list[int]) -> Iterator[list[list[int]]]:
    """Yield every way to share pieces out among rolls."""
    if not pieces:
        yield []
        return
    for sharing in sharings(pieces[1:]):
        yield [pieces[:1], *sharing]
        for at, roll in enumerate(sharing):
            yield [*sharing[:at], [pieces[0], *roll], *sharing[at + 1 :]]


def fewest(pieces, roll):
    return min(
        len(sharing)
        for sharing in sharings(pieces)
        if all(sum(pieces_of_one) <= roll for pieces_of_one in sharing)
    )


@settings(STEADY, max_examples=150)
@given(pieces=FEW, roll=st.integers(60, 110), unit=UNITS)
def test_no_way_to_share_out_a_few_pieces_takes_fewer_rolls(pieces, roll, unit):
    plan = planned([piece * unit for piece in pieces], roll * unit)
    assert (len(plan.rolls), plan.optimal) == (fewest(pieces, roll), True)


@settings(STEADY, max_examples=60)
@given(pieces=st.lists(st.integers(20, 60), min_size=7, max_size=7), nudges=st.data())
def test_a_nanometer_more_or_less_is_told_apart(pieces, nudges):
    """Lengths whose only common unit is the nanometer, so that no shortcut holds."""
    pieces = [piece * IN + nudges.draw(st.integers(-1, 1)) for piece in pieces]
    plan = planned(pieces, 120 * IN)
    assert (len(plan.rolls), plan.optimal) == (fewest(pieces, 120 * IN), True)


def can_be_cut(lengths, counts, roll, rolls):
    """Return whether so many rolls are enough, by an integer program over rolls and kinds."""
    kinds = len(lengths)
    cut = np.tile(np.eye(kinds), rolls)
    filled = np.kron(np.eye(rolls), lengths)
    solved = milp(
        np.zeros(kinds * rolls),
        constraints=[LinearConstraint(cut, counts, counts), LinearConstraint(filled, 0, roll)],
        integrality=np.ones(kinds * rolls),
        bounds=Bounds(0, np.tile(counts, rolls)),
    )
    assert solved.status in (0, 2)
    return solved.status == 0


@settings(STEADY, max_examples=25)
@given(counts=DOZENS, roll=st.sampled_from([100, 130]))
def test_an_integer_program_over_rolls_finds_as_few_for_a_few_dozen(counts, roll):
    lengths = sorted(counts)
    plan = planned([nm for nm in lengths for _ in range(counts[nm])], roll)
    assert plan.optimal
    many = [counts[nm] for nm in lengths]
    assert can_be_cut(lengths, many, roll, len(plan.rolls))
    if len(plan.rolls) > 1:
        assert not can_be_cut(lengths, many, roll, len(plan.rolls) - 1)
