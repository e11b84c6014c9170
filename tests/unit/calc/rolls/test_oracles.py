"""The cut plan against oracles that share no code with it.

Up to seven pieces: every way to share them out among rolls. A few dozen: the mixed-integer program
of HiGHS, by way of scipy. The bound: the linear program over all patterns, by the same way.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import ceil

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from service.calc.rolls import WantedPiece, cut_plan
from service.calc.rolls.fill import Work, total
from service.calc.rolls.proof import dig
from service.calc.rolls.relax import SCALE, Prices, Task, relax
from tests.unit.measures import IN, STEADY

UNITS = st.sampled_from([1, 7, IN // 16, IN])
FEW = st.lists(st.integers(9, 60), min_size=1, max_size=6)
STOCKS = st.one_of(
    st.sampled_from([[60], [100], [100, 50], [100, 75, 50]]),
    st.lists(st.integers(60, 110), min_size=1, max_size=3),
)
KERFS = st.sampled_from([0, 0, 1, 3])
DOZENS = st.dictionaries(st.integers(12, 50), st.integers(1, 8), min_size=2, max_size=5)


def planned(lengths, stock, kerf=0):
    return cut_plan([WantedPiece(length_nm=nm) for nm in lengths], stock, kerf_nm=kerf)


def sharings(pieces: list[int]) -> Iterator[list[list[int]]]:
    """Yield every way to share pieces out among rolls."""
    if not pieces:
        yield []
        return
    for sharing in sharings(pieces[1:]):
        yield [pieces[:1], *sharing]
        for at, roll in enumerate(sharing):
            yield [*sharing[:at], [pieces[0], *roll], *sharing[at + 1 :]]


def best_of_all(pieces, stock, kerf):
    """Return length bought, rolls and the largest remnant, negative, of the best of all plans."""
    return min(
        (sum(rolls), len(rolls), -max(left(*cut, kerf) for cut in zip(rolls, sharing, strict=True)))
        for sharing in sharings(pieces)
        for rolls in product(set(stock), repeat=len(sharing))
        if all(
            sum(cut) + kerf * (len(cut) - 1) <= roll
            for roll, cut in zip(rolls, sharing, strict=True)
        )
        and not any(a + b in stock for at, a in enumerate(rolls) for b in rolls[at + 1 :])
    )


def left(roll, cut, kerf):
    return max(0, roll - sum(cut) - kerf * len(cut))


@settings(STEADY, max_examples=250)
@given(pieces=FEW, stock=STOCKS, kerf=KERFS, unit=UNITS)
def test_no_way_to_share_out_a_few_pieces_is_better(pieces, stock, kerf, unit):
    pieces, stock = [piece * unit for piece in pieces], [roll * unit for roll in stock]
    plan = planned(pieces, stock, kerf * unit)
    found = plan.bought_nm, len(plan.rolls), -plan.remnant_nm
    assert found == best_of_all(pieces, stock, kerf * unit)
    assert (plan.optimal, plan.remnant_optimal) == (True, True)


@settings(STEADY, max_examples=60)
@given(pieces=st.lists(st.integers(20, 60), min_size=7, max_size=7), nudges=st.data())
def test_a_nanometre_more_or_less_is_told_apart(pieces, nudges):
    """Lengths whose only common unit is the nanometre, so that none of the shortcuts holds."""
    pieces = [piece * IN + nudges.draw(st.integers(-1, 1)) for piece in pieces]
    plan = planned(pieces, [120 * IN])
    found = plan.bought_nm, len(plan.rolls), -plan.remnant_nm
    assert found == best_of_all(pieces, [120 * IN], 0)


def least_on_last(lengths, counts, roll, rolls):
    """Return the least length on the last of so many rolls, by HiGHS; None if they are too few."""
    kinds = len(lengths)
    cost = np.zeros(kinds * rolls)
    cost[-kinds:] = lengths
    cut = np.tile(np.eye(kinds), rolls)
    filled = np.kron(np.eye(rolls), lengths)
    solved = milp(
        cost,
        constraints=[LinearConstraint(cut, counts, counts), LinearConstraint(filled, 0, roll)],
        integrality=np.ones(kinds * rolls),
        bounds=Bounds(0, np.tile(counts, rolls)),
        options={"mip_rel_gap": 0},
    )
    assert solved.status in (0, 2)
    return None if solved.status == 2 else round(solved.fun)


@settings(STEADY, max_examples=25)
@given(counts=DOZENS, roll=st.sampled_from([100, 130]))
def test_a_mixed_integer_solver_finds_the_same_for_a_few_dozen(counts, roll):
    lengths = sorted(counts)
    plan = planned([nm for nm in lengths for _ in range(counts[nm])], [roll])
    assert (plan.optimal, plan.remnant_optimal) == (True, True)
    many = [counts[nm] for nm in lengths]
    rolls = len(plan.rolls)
    assert least_on_last(lengths, many, roll, rolls) == roll - plan.remnant_nm
    if rolls > 1:
        assert least_on_last(lengths, many, roll, rolls - 1) is None


def all_patterns(lengths, counts, room):
    return [
        pattern
        for pattern in product(*(range(count + 1) for count in counts))
        if sum(nm * count for nm, count in zip(lengths, pattern, strict=True)) <= room
    ]


@settings(STEADY, max_examples=60)
@given(
    counts=st.dictionaries(st.integers(12, 50), st.integers(1, 5), min_size=2, max_size=4),
    full=st.integers(1, 4),
)
def test_the_bound_is_that_of_the_linear_program_over_all_patterns(counts, full):
    """Columns: patterns on full rolls, free; patterns on the last, at their length."""
    lengths = sorted(counts, reverse=True)
    many = [counts[nm] for nm in lengths]
    patterns = np.array(all_patterns(lengths, many, 100)).T
    zeros, ones = np.zeros(patterns.shape[1]), np.ones(patterns.shape[1])
    solved = linprog(
        np.concatenate([zeros, np.array(lengths) @ patterns]),
        A_eq=np.hstack([patterns, patterns]),
        b_eq=many,
        A_ub=[np.concatenate([ones, zeros]), np.concatenate([zeros, ones])],
        b_ub=[full, 1],
    )
    task = Task(sizes=tuple(lengths), counts=tuple(many), rooms=(100,), full=(full,), last=100)
    prices = relax(task, 101, Work(100_000)).prices
    assert prices is not None
    if solved.status == 2:
        assert prices.least > 100
    else:
        assert prices.least == ceil(solved.fun - 1e-6)


def taken(rest, patterns):
    """Return every remainder that one more roll can leave, whatever is cut from it."""
    return {
        tuple(have - need for have, need in zip(left, pattern, strict=True))
        for left in rest
        for pattern in patterns
        if all(need <= have for have, need in zip(left, pattern, strict=True))
    }


@settings(STEADY, max_examples=200)
@given(
    counts=st.dictionaries(st.integers(12, 50), st.integers(1, 6), min_size=2, max_size=3),
    full=st.tuples(st.integers(0, 4), st.integers(0, 2)),
    most=st.integers(0, 100),
    weights=st.lists(st.integers(0, 3), min_size=4, max_size=4),
)
def test_digging_goes_through_all_that_could_be_better(counts, full, most, weights):
    """By any prices: poor ones prove little beforehand and leave the more to dig through."""
    lengths, rooms = sorted(counts, reverse=True), (100, 60)
    many = [counts[nm] for nm in lengths]
    worth = [nm * weight * SCALE // 2 for nm, weight in zip(lengths, weights, strict=False)]
    beyond = [value - nm * SCALE for value, nm in zip(worth, lengths, strict=True)]
    tops = [most_worth(worth, all_patterns(lengths, many, room)) for room in rooms]
    owed = total(worth, many) - total(tops, full)
    owed -= most_worth(beyond, all_patterns(lengths, many, 100))
    task = Task(sizes=tuple(lengths), counts=tuple(many), rooms=rooms, full=full, last=100)
    prices = Prices(worth=tuple(worth), tops=tuple(tops), owed=owed)
    rest = {tuple(many)}
    for room, rolls in zip(rooms, full, strict=True):
        for _ in range(rolls):
            rest = taken(rest, all_patterns(lengths, many, room))
    least = min(total(lengths, left) for left in rest)
    found = dig(task, prices, most, Work(1_000_000))
    assert (found and total(lengths, found.last)) == (least if least <= most else None)


def test_a_pattern_is_not_always_best_cut_as_often_as_it_can_be():
    """37 + 20 once and 3 of 20 fill two rolls of 60 to 117; 37 + 20 twice fills them to 114."""
    sizes = (37, 24, 20)
    task = Task(sizes=sizes, counts=(2, 5, 5), rooms=(60,), full=(2,), last=300)
    worth = tuple(size * SCALE for size in sizes)
    prices = Prices(worth=worth, tops=(60 * SCALE,), owed=(294 - 2 * 60) * SCALE)
    found = dig(task, prices, 294, Work(100_000))
    assert found is not None
    assert total(sizes, found.last) == 294 - 117


def most_worth(worth, patterns):
    return max(total(worth, pattern) for pattern in patterns)
