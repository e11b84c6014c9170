"""Other ways of doing a job: each is what a request that asks for it directly is answered."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.calls.quotes import SITE, area, ask, demo, drawn, job, named, readings

ASKED = {"joining": "joining", "finish": "finish", "bending": "bending"}


def others(answer, change):
    return [one for one in answer["alternatives"] if one["change"] == change]


def check(request, book=None):
    """Compare each alternative of a request with the answer to a request that asks for it."""
    before = ask({**request, "alternatives": True}, book=book)
    for other in before["alternatives"]:
        if other["change"] == "strip_width":
            continue
        name = ASKED.get(other["change"], other["change"])
        after = ask({**request, name: other["to"]}, book=book)
        assert after["suitability"] == before["suitability"]
        assert other["total"] == after["price"]["total"]
        assert other["person_hours"] == after["labor"]["person_hours"]
        change = Decimal(after["price"]["total"]) - Decimal(before["price"]["total"])
        assert Decimal(other["total_change"]) == change
        hours = [one["labor"]["person_hours"]["value"] for one in (before, after)]
        assert other["hours_change"] == pytest.approx(hours[1] - hours[0], abs=2e-6)
    return before


areas = st.builds(
    lambda feet, reading, corners, holes: {
        "perimeter": f"{feet} ft",
        "clearance": readings(reading),
        "corners": corners,
        "penetrations": holes,
    },
    st.integers(5, 900),
    st.sampled_from([2, 3, 4, 5, 6, 7, 8, 9]),
    st.integers(0, 12),
    st.integers(0, 3),
)
choices = st.fixed_dictionaries(
    {},
    optional={
        "joining": st.sampled_from(["rings", "ties"]),
        "finish": st.sampled_from(["prepainted", "spray"]),
        "bending": st.sampled_from(["hand", "brake"]),
        "roll_length": st.sampled_from(["100 ft", "50 ft"]),
        "stories": st.integers(1, 4),
        "pitch": st.sampled_from(["low", "walkable", "steep"]),
    },
)


@settings(max_examples=60, derandomize=True, deadline=None, database=None)
@given(st.lists(areas, min_size=1, max_size=4), choices)
def test_an_alternative_is_what_a_request_for_it_is_answered(told, chosen):
    answer = check({**job(*told), **chosen})
    assert {one["change"] for one in answer["alternatives"]} >= {"joining", "bending"}


@pytest.mark.parametrize("chosen", [{}, {"roll_length": "50 ft"}, {"joining": "ties"}])
def test_so_it_is_for_planes_that_are_drawn_and_for_what_is_assumed(chosen):
    planes = [drawn(4), drawn(7), {"arrays": [{"modules": {"count": 11}}]}]
    answer = check({**SITE, "planes": planes, **chosen})
    assert len(others(answer, "roll_length")) == 1


def test_a_longer_roll_is_offered_where_the_shorter_was_asked_for():
    answer = check(job(area("90 ft", 4), roll_length="50 ft"))
    assert [one["to"] for one in others(answer, "roll_length")] == ["100 ft"]


@pytest.mark.parametrize("feet", [12, 90, 200, 480, 1234])
@pytest.mark.parametrize("reading", [2, 4, 6, 8])
def test_a_wider_strip_costs_what_its_rolls_cost_more(feet, reading):
    """Nobody can ask for a wider strip, so it is reckoned here from the book's prices of rolls."""
    answer = ask(job(area(f"{feet} ft", reading), alternatives=True))
    (wider,) = others(answer, "strip_width")
    widths = [
        int(one.split()[0])
        for one in (answer["bill"]["order"][0]["strip_width"]["text"], wider["to"])
    ]
    assert widths[1] == widths[0] + 2
    prices = demo().content["prices"]
    rolls = -(-feet * 12 // 1000)
    each = []
    for width in widths:
        entry = prices[f"mesh_{width}_in_100_ft"]
        each.append(Decimal(entry["breaks"]["5"] if rolls >= 5 else entry["price"]))
    price = answer["price"]
    cost = Decimal(price["materials"]["cost"]) + rolls * (each[1] - each[0])
    materials = cents(Fraction(cost) * Fraction(120, 100))
    fees = sum(Decimal(fee["amount"]) for fee in price["fees"])
    subtotal = max(materials + Decimal(price["labor"]["price"]) + fees, Decimal("350.00"))
    total = subtotal + cents(Fraction(materials) * Fraction(825, 10_000))
    assert Decimal(wider["total"]) == total
    assert Decimal(wider["total_change"]) == total - Decimal(price["total"])
    assert wider["person_hours"] == answer["labor"]["person_hours"]
    assert wider["hours_change"] == 0


def cents(amount):
    whole = Decimal(amount.numerator) / Decimal(amount.denominator)
    return whole.quantize(Decimal("0.01"), ROUND_HALF_UP)


def test_a_wider_strip_is_not_offered_where_there_is_none_or_its_channel_is_not_snug():
    assert others(ask(job(area("90 ft", 10), alternatives=True)), "strip_width") == []
    uneven = job(area("90 ft", "1 1/2", "6"), alternatives=True)
    assert ask(uneven)["sizing"][0]["profile"]["fit"] == "loose"
    assert others(ask(uneven), "strip_width") == []


def test_a_wider_strip_that_makes_a_loose_channel_snug_is_offered():
    request = job(area("90 ft", "3 1/8", "2 1/8"), alternatives=True)
    answer = ask(request)
    assert answer["sizing"][0]["profile"]["fit"] == "loose"
    assert answer["sizing"][0]["advice"][0]["kind"] == "next_width"
    assert [one["to"] for one in others(answer, "strip_width")] == ["8 in"]


def test_what_changes_nothing_is_not_offered():
    """Without rates it makes no difference whether a strip is bent by hand or with a brake."""
    answer = ask(job(area("90 ft", 4), alternatives=True), named("baseline@1.0.0"))
    changes = {one["change"] for one in answer["alternatives"]}
    assert "bending" not in changes
    assert {"joining", "finish"} <= changes
    assert all(one["person_hours"] is None for one in answer["alternatives"])
    assert all(one["total"] is one["total_change"] is None for one in answer["alternatives"])


def test_an_alternative_that_cannot_be_priced_has_no_total_but_its_hours():
    book = demo()
    kept = {
        offer: price for offer, price in book.offers.items() if offer[2] != 50 * 12 * 25_400_000
    }
    short = msgspec.structs.replace(book, offers=kept)
    answer = ask(job(area("90 ft", 4), alternatives=True), book=short)
    (rolls,) = others(answer, "roll_length")
    assert rolls["total"] is rolls["total_change"] is None
    assert rolls["person_hours"] == answer["labor"]["person_hours"]


def test_alternatives_stand_only_where_they_are_asked_for():
    assert "alternatives" not in ask(job(area("90 ft", 4)))
