"""What one price book changes in another, and what it may not."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.unit.measures import FT, IN
from tests.unit.pricebooks.books import OVERLAY, SENT, WHOLE, book_of, changed, problems_of

BOX = {**SENT["prices"]["box"], "price": "9.50"}


def over(**members):
    return book_of({**OVERLAY, **members}, own=WHOLE)


def refused(**members):
    return problems_of({**OVERLAY, **members}, own=WHOLE)


def test_what_an_overlay_does_not_write_stays():
    book = over(prices={"box": BOX})
    assert book.find("screw", None, 100).at(1) == Decimal("9.50")
    assert book.find("mesh", 8 * IN, 100 * FT).at(5) == Decimal("22.00")
    assert (book.currency, book.rounding, book.hourly_rate) == ("USD", "half_up", Decimal("55.00"))
    assert (book.minimum, len(book.fees), len(book.taxes)) == (Decimal("350.00"), 1, 1)
    assert book.name == "own@1.1.0"


def test_an_entry_is_replaced_whole():
    roll = {name: SENT["prices"]["roll"][name] for name in SENT["prices"]["roll"]}
    del roll["breaks"]
    assert over(prices={"roll": roll}).find("mesh", 8 * IN, 100 * FT).at(5) == Decimal("24.00")


def test_scalars_and_labor_are_replaced():
    book = over(
        rounding="up", minimum_charge="0.00", labor={"hourly_rate": "60.00", "source": "list"}
    )
    assert (book.rounding, book.minimum, book.hourly_rate) == (
        "up",
        Decimal("0.00"),
        Decimal("60.00"),
    )


def test_one_markup_is_replaced_and_the_other_stays():
    marks = over(markup={"labor": {"kind": "markup", "share": "10 %"}}).mark_ups
    assert marks.labor.kind == "markup"
    assert marks.materials.on(Decimal(100)) == 120


def test_entries_are_dropped_by_id():
    book = over(remove={"prices": ["roll"], "fees": ["travel"], "tax": ["sales"]})
    assert (len(book.prices), book.fees, book.taxes) == (1, (), ())


def test_the_same_currency_may_be_written_and_no_other():
    assert over(currency="USD").currency == "USD"
    (problem,) = refused(currency="EUR")
    assert problem.key == "currency"
    assert "cannot change" in problem.problem


@pytest.mark.parametrize(
    ("members", "key"),
    [
        ({"remove": {"prices": ["bag"]}}, "remove.prices.0"),
        ({"remove": {"prices": ["box"]}, "prices": {"box": BOX}}, "remove.prices.0"),
        ({"remove": {"markup": ["labor"]}}, "remove.markup"),
        ({"remove": {"sources": ["list"]}}, "remove.sources"),
        ({"values": {}}, "values"),
        ({"prices": {"box": {**BOX, "source": "other"}}}, "prices.box.source"),
        ({"prices": {"again": BOX}}, "prices.again"),
        ({"prices": {"box": {**BOX, "price": "9.505"}}}, "prices.box.price"),
        ({"based_on": "other@1.0.0"}, "based_on"),
        ({"based_on": "own@1.1.0"}, "based_on"),
    ],
)
def test_a_fault_of_an_overlay_is_told_at_its_place(members, key):
    (problem,) = refused(**members)
    assert problem.key == key
    assert problem.line > 1


def test_where_an_entry_was_written_is_told_from_the_root_up():
    book = over(prices={"box": BOX})
    root, own = book.resolved.origins(("prices", "box"))
    assert (root.ruleset, own.ruleset) == ("own@1.0.0", "own@1.1.0")
    assert (root.entry["price"], own.entry["price"]) == ("9.00", "9.50")
    assert root.line > 1


def test_a_fault_in_the_base_is_told_in_the_base():
    broken = changed(WHOLE, "prices.box.price", 9)
    (problem,) = problems_of({**OVERLAY, "rounding": "up"}, own=broken)
    assert problem.key == "prices.box.price"
