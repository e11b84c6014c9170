"""What must hold of the money of any quote, whatever the price book and the job."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_UP, Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.calls.quotes import area, ask, drawn, job
from tests.unit.calls.sent_books import PLACES, books

MODES = {"half_up": ROUND_HALF_UP, "half_even": ROUND_HALF_EVEN, "up": ROUND_UP}
thorough = settings(max_examples=150, derandomize=True, deadline=None, database=None)
areas = st.builds(
    lambda feet, reading, corners, holes: area(
        f"{feet} ft", reading, corners=corners, penetrations=holes
    ),
    st.integers(1, 1500),
    st.sampled_from([2, 4, 5, 7]),
    st.integers(0, 9),
    st.integers(0, 3),
)
some = st.lists(areas, min_size=1, max_size=4)
ways = st.fixed_dictionaries(
    {
        "joining": st.sampled_from(["rings", "ties"]),
        "finish": st.sampled_from(["prepainted", "spray"]),
    }
)


def priced(areas_, book, **more: Any):
    return ask(job(*areas_, prices=book, **more))["price"]


def rounded(value: Fraction, book) -> Decimal:
    """Return an amount as the book rounds it, reckoned here with decimal's own rounding."""
    exact = Decimal(value.numerator * 10**40 // value.denominator)
    exact += bool(value.numerator * 10**40 % value.denominator)  # a rest so small tips no half
    unit = Decimal(1).scaleb(-PLACES[book["currency"]])
    return exact.scaleb(-40).quantize(unit, MODES[book["rounding"]])


def share(text: str) -> Fraction:
    return Fraction(text.removesuffix(" %")) / 100


def marked(cost: Decimal, part: str, book) -> Decimal:
    put = book["markup"].get(part)
    if put is None:
        return cost
    if put["kind"] == "margin":
        return rounded(Fraction(cost) / (1 - share(put["share"])), book)
    return rounded(Fraction(cost) * (1 + share(put["share"])), book)


def each_amount(part):
    if isinstance(part, dict):
        for name, one in part.items():
            if name in AMOUNTS and isinstance(one, str):
                yield one
            yield from each_amount(one)
    elif isinstance(part, list):
        for one in part:
            yield from each_amount(one)


AMOUNTS = (
    "each",
    "amount",
    "cost",
    "added",
    "price",
    "minimum_charge_adjustment",
    "subtotal",
    "of",
    "total",
)


@thorough
@given(some, books(), ways)
def test_lines_add_up_to_totals_to_the_last_unit_of_the_one_currency(told, book, way):
    price = priced(told, book, **way)
    assert price["currency"] == book["currency"]
    places = PLACES[book["currency"]]
    assert all(len(amount.partition(".")[2]) == places for amount in each_amount(price))
    known = [line for line in price["lines"] if line["amount"] is not None]
    for line in known:
        assert Decimal(line["amount"]) == Decimal(line["each"]) * line["packs"]
    cost = sum((Decimal(line["amount"]) for line in known), Decimal(0))
    parts = {"materials": Decimal(price["materials"]["price"]), "labor": Decimal(0)}
    assert Decimal(price["materials"]["cost"]) == cost
    assert parts["materials"] == marked(cost, "materials", book)
    if price["labor"]:
        parts["labor"] = Decimal(price["labor"]["price"])
        assert parts["labor"] == marked(Decimal(price["labor"]["cost"]), "labor", book)
    for one in (price["materials"], price["labor"]):
        if one:
            assert Decimal(one["cost"]) + Decimal(one["added"]) == Decimal(one["price"])
    fees = [Decimal(fee["amount"]) for fee in book["fees"].values()]
    parts["fees"] = sum(fees, Decimal(price["minimum_charge_adjustment"]))
    assert sorted(Decimal(fee["amount"]) for fee in price["fees"]) == sorted(fees)
    assert Decimal(price["subtotal"]) == sum(parts.values())
    taxes = Decimal(0)
    for one in price["taxes"]:
        tax = book["tax"][one["tax"]]
        assert Decimal(one["of"]) == sum(parts[part] for part in tax["on"])
        amount = rounded(Fraction(Decimal(one["of"])) * share(tax["share"]), book)
        assert Decimal(one["amount"]) == amount
        taxes += amount
    assert len(price["taxes"]) == len(book["tax"])
    if price["total"] is not None:
        assert Decimal(price["total"]) == Decimal(price["subtotal"]) + taxes
        assert Decimal(price["subtotal"]) >= Decimal(book.get("minimum_charge", "0"))


@thorough
@given(some, books(), ways)
def test_what_has_price_unavailable_is_to_be_priced_and_never_free(told, book, way):
    price = priced(told, book, **way)
    missing = []
    for line in price["lines"]:
        entry = book["prices"].get(line["item"])
        assert line["to_be_priced"] is (entry is None)
        assert (line["amount"] is None) is (line["each"] is None) is (entry is None)
        assert (line["rule"] is None) is (entry is None)
        missing += [line["item"]] * (entry is None)
    missing += ["labor"] * ("labor" not in book)
    assert price["to_be_priced"] == list(dict.fromkeys(missing))
    assert (price["total"] is None) is bool(missing)
    assert (price["labor"] is None) is ("labor" not in book)
    if missing:
        assert price["firm"] is False
        assert Decimal(price["minimum_charge_adjustment"]) == 0


def turned(entries, by):
    """Return entries in another order."""
    items = list(entries.items())
    return dict(items[by:] + items[:by][::-1])


def sums(answer):
    price = answer["price"]
    alone = ("materials", "labor", "subtotal", "minimum_charge_adjustment", "total", "to_be_priced")
    taxes = sorted((tax["tax"], tax["of"], tax["amount"]) for tax in price["taxes"])
    return {
        **{name: price[name] for name in alone},
        "taxes": taxes,
        "lines": price["lines"],
        "order": answer["bill"]["order"],
        "hours": answer["labor"]["person_hours"],
        "days": answer["schedule"]["days"],
    }


@thorough
@given(
    st.lists(st.lists(areas, min_size=1, max_size=3), min_size=1, max_size=3), books(), st.data()
)
def test_the_order_of_arrays_planes_and_prices_changes_no_total(told, book, data):
    planes = [{"arrays": plane} for plane in told]
    by = data.draw(st.integers(0, 7))
    sections = {name: turned(book[name], by) for name in ("prices", "fees", "tax")}
    mixed = [
        {"arrays": data.draw(st.permutations(plane["arrays"]))}
        for plane in data.draw(st.permutations(planes))
    ]
    before = ask(job(planes=planes, prices=book))
    after = ask(job(planes=mixed, prices={**book, **sections}))
    assert sums(before) == sums(after)


def test_the_order_of_drawn_planes_changes_no_total():
    planes = [
        drawn(4),
        drawn(7, columns=4),
        drawn(4, rows=1, columns=9),
        {"arrays": [area("90 ft", 4)]},
    ]
    first = ask(job(planes=planes))
    for at in range(1, 4):
        after = ask(job(planes=planes[at:] + planes[:at]))
        assert sums(after) == sums(first)
