from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter

import pytest
from gapwright.calc import cutting
from gapwright.calc.cutting import CutPlan, WantedPiece, cut_plan
from gapwright.errors import InvalidRequestError
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.measures import FT, IN, STEADY, inches

ROLL = 100 * FT
MARKS = st.integers(12 * 16, 120 * 16).map(lambda marks: marks * IN // 16)
SINGLE = st.lists(MARKS, min_size=1, max_size=40)
ROLLS = st.sampled_from([ROLL, 50 * FT, 25 * FT, 700 * IN])


def wanted(*lengths_nm):
    return [WantedPiece(length_nm=nm, label=f"P{at}") for at, nm in enumerate(lengths_nm, 1)]


def planned(*lengths, roll=ROLL, unit=IN):
    return cut_plan(wanted(*(length * unit for length in lengths)), roll)


def cuts(plan):
    return [[piece.length_nm for piece in roll.pieces] for roll in plan.rolls]


def check_cut(plan: CutPlan, lengths_nm, roll_nm):
    """Check all that makes a plan one that a crew can follow."""
    assert Counter(nm for roll in cuts(plan) for nm in roll) == Counter(lengths_nm)
    for roll in plan.rolls:
        assert roll.length_nm == roll_nm
        end = 0
        for piece in roll.pieces:
            assert piece.start_nm == end
            end = piece.start_nm + piece.length_nm
        assert 0 < end <= roll_nm
        assert roll.remnant_nm == roll_nm - end
    remnants = [roll.remnant_nm for roll in plan.rolls]
    assert remnants == sorted(remnants)
    assert plan.bound <= len(plan.rolls)
    assert plan.optimal is (plan.bound == len(plan.rolls))


def test_ten_pieces_of_ten_feet_use_up_a_roll():
    plan = planned(*[120] * 10)
    assert cuts(plan) == [[120 * IN] * 10]
    assert (plan.optimal, plan.rolls[0].remnant_nm) == (True, 0)


def test_an_eleventh_piece_takes_a_second_roll_and_leaves_the_rest_of_it():
    plan = planned(*[120] * 11)
    assert [len(roll.pieces) for roll in plan.rolls] == [10, 1]
    assert plan.rolls[-1].remnant_nm == inches("1080")


def test_a_piece_a_hair_longer_than_a_tenth_of_the_roll_goes_nine_times_into_it():
    plan = cut_plan([WantedPiece(length_nm=120 * IN + 1, count=18)], ROLL)
    assert [len(roll.pieces) for roll in plan.rolls] == [9, 9]


def test_equal_parts_of_a_roll_that_are_no_round_number_still_fill_it():
    plan = cut_plan([WantedPiece(length_nm=ROLL // 7, count=70)], ROLL)
    assert (len(plan.rolls), plan.optimal) == (10, True)


def test_a_piece_as_long_as_the_roll_is_the_roll():
    plan = planned(1200)
    assert (len(plan.rolls), plan.rolls[0].remnant_nm) == (1, 0)


def test_cutting_the_longest_piece_first_wastes_a_roll_that_the_plan_saves():
    plan = planned(58, 45, 28, 23, 22, 19, unit=FT)
    assert cuts(plan) == [
        [58 * FT, 23 * FT, 19 * FT],
        [45 * FT, 28 * FT, 22 * FT],
    ]


@pytest.mark.parametrize(("roll", "remnant"), [(60, 0), (61, 3)])
def test_a_longer_roll_never_takes_more_rolls(roll, remnant):
    """Total 180: at 60 it just fits; at 61 cutting the longest piece first takes four."""
    plan = planned(44, 24, 24, 22, 21, 17, 8, 8, 6, 6, roll=roll * IN)
    assert (len(plan.rolls), plan.optimal) == (3, True)
    assert plan.rolls[-1].remnant_nm == inches(str(remnant))


def test_what_is_remaining_is_left_in_one_piece():
    plan = planned(50, 40, 50, 40, roll=100 * IN)
    assert cuts(plan) == [[50 * IN] * 2, [40 * IN] * 2]
    assert [roll.remnant_nm for roll in plan.rolls] == [0, 20 * IN]


def test_each_piece_is_cut_once_and_keeps_its_label():
    plan = planned(113, 64, 113, 31, 64, 700)
    named = {piece.label: piece.length_nm for roll in plan.rolls for piece in roll.pieces}
    assert named == {
        "P1": 113 * IN, "P2": 64 * IN, "P3": 113 * IN, "P4": 31 * IN, "P5": 64 * IN, "P6": 700 * IN,
    }  # fmt: skip


def test_pieces_of_one_length_are_taken_in_the_order_given():
    plan = planned(*[500] * 5)
    assert [piece.label for roll in plan.rolls for piece in roll.pieces] == [
        "P1", "P2", "P3", "P4", "P5",
    ]  # fmt: skip


def test_the_longest_piece_is_cut_first_from_each_roll():
    for roll in cuts(planned(31, 64, 113, 117, 120, 31, 500, 700)):
        assert roll == sorted(roll, reverse=True)


def test_nothing_to_cut_takes_no_rolls():
    for pieces in ([], [WantedPiece(length_nm=IN, count=0)]):
        plan = cut_plan(pieces, ROLL)
        assert (plan.rolls, plan.bound, plan.optimal) == ((), 0, True)


def test_every_piece_that_no_roll_can_hold_is_named():
    with pytest.raises(InvalidRequestError) as caught:
        cut_plan(wanted(ROLL, ROLL + 1, 12 * IN, 2 * ROLL), ROLL)
    assert [fault.path for fault in caught.value.faults] == [("pieces", 1), ("pieces", 3)]
    fault = caught.value.faults[1]
    assert fault.detail == (
        'The piece "P4" is 60960 mm long; the longest roll is 30480 mm. '
        "Use shorter pieces or a longer roll."
    )
    assert "30480.000001 mm" in caught.value.faults[0].problem


HARD = [43, 40, 35, 35, 33, 32, 31, 26, 25]
"""43 + 31 + 26, 40 + 35 + 25 and 35 + 33 + 32 fill three rolls; no simple rule finds that."""


def test_the_model_finds_the_plan_that_greedy_fills_miss():
    plan = planned(*HARD, roll=100 * IN)
    check_cut(plan, [length * IN for length in HARD], 100 * IN)
    assert (len(plan.rolls), plan.bound, plan.optimal) == (3, 3, True)


@pytest.mark.parametrize(
    ("limit", "most"), [("MAX_KINDS", 7), ("MAX_STEPS", 9), ("MAX_PATTERNS", 2)]
)
def test_a_plan_that_the_model_is_too_large_for_states_its_gap(limit, most, monkeypatch):
    monkeypatch.setattr(cutting, limit, most)
    plan = planned(*HARD, roll=100 * IN)
    check_cut(plan, [length * IN for length in HARD], 100 * IN)
    assert (len(plan.rolls), plan.bound, plan.optimal) == (4, 3, False)


def test_the_model_proves_that_pieces_fit_too_badly_for_the_bound_of_their_length():
    """Ten of 113 in go in a roll: 200 take 20 rolls, though 19 are as long as they are."""
    plan = cut_plan([WantedPiece(length_nm=113 * IN, count=200)], ROLL)
    assert (len(plan.rolls), plan.bound, plan.optimal) == (20, 20, True)


def test_a_usual_job_is_settled_without_the_model(monkeypatch):
    monkeypatch.delattr(cutting, "_solve")
    for counts in ({120: 33, 113: 4}, {96: 52, 48: 5, 31: 1}, {113: 29, 117: 18, 120: 13}):
        lengths = [length for length, count in counts.items() for _ in range(count)]
        plan = planned(*lengths)
        check_cut(plan, [length * IN for length in lengths], ROLL)
        assert plan.optimal


def test_two_thousand_pieces_of_eight_lengths_are_cut_from_the_fewest_rolls():
    counts = {120: 800, 117: 420, 113: 300, 96: 200, 64: 120, 47: 80, 31: 50, 24: 30}
    pieces = [WantedPiece(length_nm=nm * IN, count=count) for nm, count in counts.items()]
    plan = cut_plan(pieces, ROLL)
    check_cut(plan, [p.length_nm for p in pieces for _ in range(p.count)], ROLL)
    assert plan.optimal


@pytest.mark.parametrize("grid", [IN // 16, IN // 16 + 1])
def test_more_lengths_than_the_model_looks_into_are_still_cut(grid):
    """Also where lengths have no common unit but the nanometer."""
    lengths = [(480 + at) * grid + at % 2 for at in range(300)]
    plan = cut_plan(wanted(*lengths), ROLL)
    check_cut(plan, lengths, ROLL)
    assert plan.optimal


def test_nothing_is_written_to_standard_output():
    """The solver's own banner would stand in front of an answer that the command prints."""
    script = (
        "from gapwright.calc.cutting import WantedPiece, cut_plan;"
        "plan = cut_plan([WantedPiece(length_nm=113, count=200)], 1200);"
        "assert plan.bound == 20"
    )
    ran = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True)
    assert ran.stdout == b""


@settings(STEADY, max_examples=100)
@given(lengths=SINGLE, roll=ROLLS)
def test_every_plan_can_be_cut(lengths, roll):
    check_cut(cut_plan(wanted(*lengths), roll), lengths, roll)


@settings(STEADY, max_examples=40)
@given(
    lengths=st.lists(st.integers(200, 700), min_size=1, max_size=40),
    chance=st.randoms(use_true_random=False),
)
def test_the_order_of_the_pieces_changes_labels_only(lengths, chance):
    """Long pieces, a few to a roll, so that the model is asked as well."""
    shuffled = list(lengths)
    chance.shuffle(shuffled)
    first, second = (cut_plan(wanted(*order), 1200) for order in (lengths, shuffled))
    assert cuts(first) == cuts(second)
    assert (first.bound, first.optimal) == (second.bound, second.optimal)


@pytest.mark.parametrize("hash_seed", ["1", "2"])
def test_every_process_has_the_same_plan(hash_seed):
    script = (
        "from gapwright.calc.cutting import WantedPiece, cut_plan;"
        "plan = cut_plan([WantedPiece(length_nm=n * 61 % 500 + 201) for n in range(60)], 1200);"
        "print([[p.length_nm for p in roll.pieces] for roll in plan.rolls])"
    )
    pieces = [WantedPiece(length_nm=n * 61 % 500 + 201) for n in range(60)]
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
    ran = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True, env=environment
    )
    assert ran.stdout.strip() == str(cuts(cut_plan(pieces, 1200)))
