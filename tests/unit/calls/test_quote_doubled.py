"""A job twice over: every array of it twice, on the same planes.

What holds, and why:
- Of each item, twice the job uses and orders at most twice as much, for what is rounded up to whole
  things or packs is rounded up once; and it uses at least twice what one job needs before rounding.
- It takes twice the hours of one, less what is done once: coming, moving between planes, leaving.
- It costs at most twice as much, where breaks fall (a pack costs no more where more are bought)
  and amounts are rounded up.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.calls.quotes import area, ask, drawn, job
from tests.unit.calls.sent_books import books

thorough = settings(max_examples=120, derandomize=True, deadline=None, database=None)
areas = st.builds(
    lambda feet, reading, corners, holes: area(
        f"{feet} ft", reading, corners=corners, penetrations=holes
    ),
    st.integers(1, 1500),
    st.sampled_from([2, 4, 5, 7]),
    st.integers(0, 9),
    st.integers(0, 3),
)
jobs = st.lists(st.lists(areas, min_size=1, max_size=3), min_size=1, max_size=3)
ways = st.fixed_dictionaries(
    {
        "joining": st.sampled_from(["rings", "ties"]),
        "finish": st.sampled_from(["prepainted", "spray"]),
        "bending": st.sampled_from(["hand", "brake"]),
        "stories": st.integers(1, 3),
        "pitch": st.sampled_from(["low", "walkable", "steep"]),
    }
)
STOREYS = {1: 0, 2: Fraction(1, 10), 3: Fraction(1, 4)}
PITCH = {"low": 0, "walkable": Fraction(1, 10), "steep": Fraction(2, 5)}


def once_and_twice(told, way, **more):
    one = job(**way, planes=[{"arrays": plane} for plane in told], **more)
    two = job(**way, planes=[{"arrays": [*plane, *plane]} for plane in told], **more)
    return ask(one), ask(two)


def by_item(lines, figure):
    return {(one["item"], str(one["strip_width"])): one[figure] for one in lines}


def needed(told, way):
    """Return how much one job needs of each item before rounding: lengths in feet, by width."""
    feet = Fraction(sum(int(one["perimeter"].split()[0]) for plane in told for one in plane))
    ties = way["joining"] == "ties"
    need = {"mesh": feet * Fraction(6, 5), "screw": feet / 6, "washer": feet / 6}
    need["tie"] = feet / 6 + (feet / 4 if ties else 0)
    need |= {} if ties else {"ring": feet / 2}
    return need | ({"spray_paint": feet / 100} if way["finish"] == "spray" else {})


def added(way):
    """Return the surcharges of a job as one share."""
    return STOREYS[way["stories"]] + PITCH[way["pitch"]]


@thorough
@given(jobs, ways)
def test_twice_the_job_uses_at_most_twice_as_much_and_at_least_what_it_needs(told, way):
    one, two = once_and_twice(told, way)
    for figure, lines in (("quantity", "lines"), ("packs", "order")):
        before, after = (by_item(a["bill"][lines], figure) for a in (one, two))
        assert before.keys() == after.keys()
        for item, amount in after.items():
            assert before[item] <= amount <= 2 * before[item] + 1e-6  # lengths have six decimals
    used: dict[str, float] = {}
    for line in two["bill"]["lines"]:
        used[line["item"]] = used.get(line["item"], 0) + line["quantity"]
    need = needed(told, way)
    assert used.keys() == need.keys()
    for item, amount in used.items():
        assert amount >= 2 * need[item] - Fraction(1, 10**5)  # at most four widths, six decimals


@thorough
@given(jobs, ways)
def test_twice_the_job_takes_twice_the_hours_but_for_what_is_done_once(told, way):
    one, two = once_and_twice(told, way)
    minutes = 60 + 20 * len(told) + 40 + (20 if way["bending"] == "brake" else 0)
    once = Fraction(minutes, 60) * (1 + added(way))
    hours = [Fraction(str(a["labor"]["person_hours"]["value"])) for a in (one, two)]
    assert abs(hours[1] - (2 * hours[0] - once)) <= Fraction(2, 10**6)  # six decimals


@thorough
@given(jobs, ways, books(whole=True, rounding="up"))
def test_twice_the_job_costs_at_most_twice_as_much_where_amounts_are_rounded_up(told, way, book):
    one, two = (a["price"] for a in once_and_twice(told, way, prices=book))
    assert Decimal(two["materials"]["price"]) <= 2 * Decimal(one["materials"]["price"])
    assert Decimal(two["labor"]["price"]) <= 2 * Decimal(one["labor"]["price"])
    assert Decimal(two["subtotal"]) <= 2 * Decimal(one["subtotal"])
    assert Decimal(two["total"]) <= 2 * Decimal(one["total"])


def test_a_drawn_job_twice_takes_at_most_twice_the_rolls_and_at_least_what_its_pieces_fill():
    for rows in (1, 2, 3):
        for columns in (1, 2, 5, 8, 13):
            plane = drawn(4, rows=rows, columns=columns)
            one, two = (ask(job(planes=[plane] * times))["bill"] for times in (1, 2))
            rolls = [a["order"][0]["packs"] for a in (one, two)]
            assert rolls[1] <= 2 * rolls[0]
            assert rolls[1] * 100 >= 2 * one["lines"][0]["quantity"] - 1e-5
            before, after = (by_item(a["lines"], "quantity") for a in (one, two))
            assert all(after[item] <= 2 * before[item] + 1e-5 for item in after)
