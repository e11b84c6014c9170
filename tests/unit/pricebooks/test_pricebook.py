"""What a price book says: prices by pack and number, mark-up and margin, and its digest."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from gapwright.pricebooks.build import inline

from tests.unit.measures import FT, IN
from tests.unit.pricebooks.books import SENT, WHOLE, book_of, changed, sent

WIDTH, ROLL = 8 * IN, 100 * FT


@pytest.mark.parametrize(
    ("packs", "price"),
    [
        (1, "24.00"),
        (4, "24.00"),
        (5, "22.00"),
        (9, "22.00"),
        (10, "21.50"),
        (10**9, "21.50"),
    ],
)
def test_the_price_of_a_pack_is_that_of_the_last_break_that_is_reached(packs, price):
    assert sent().find("mesh", WIDTH, ROLL).at(packs) == Decimal(price)


def test_a_pack_is_found_by_item_width_and_what_it_holds():
    book = sent()
    assert book.find("mesh", WIDTH, ROLL).id == "roll"
    assert book.find("screw", None, 100).rule == "prices.box"
    assert book.find("mesh", 6 * IN, ROLL) is None
    assert book.find("mesh", WIDTH, 50 * FT) is None
    assert book.find("mesh", None, ROLL) is None
    assert book.find("screw", None, 99) is None
    assert book.find("washer", None, 100) is None


def test_an_entry_without_a_width_holds_for_widths_without_an_entry_of_their_own():
    any_width = {"item": "mesh", "pack": "100 ft", "price": "30.00"}
    book = sent(prices={**SENT["prices"], "any": any_width})
    assert book.find("mesh", 6 * IN, ROLL).id == "any"
    assert book.find("mesh", WIDTH, ROLL).id == "roll"


def test_a_markup_is_a_share_of_the_cost_and_a_margin_one_of_the_price():
    marks = sent().mark_ups
    assert marks.materials.on(Decimal("100.00")) == 120
    assert marks.labor.on(Decimal("75.00")) == 100
    assert marks.materials.rule == "markup.materials"


def test_a_margin_of_a_third_is_exact():
    mark = {"labor": {"kind": "margin", "share": "33 1/3 %"}}
    assert sent(markup=mark).mark_ups.labor.on(Decimal("10.00")) == 15


def test_the_book_holds_what_was_written():
    book = book_of(WHOLE)
    assert book.name == "own@1.0.0"
    assert book.hourly_rate == Decimal("55.00")
    assert book.minimum == Decimal("350.00")
    assert (book.fees[0].id, book.fees[0].amount, book.fees[0].rule) == (
        "travel",
        Decimal("35.00"),
        "fees.travel",
    )
    (tax,) = book.taxes
    assert (tax.share, tax.on, tax.rule) == (Fraction(33, 400), ("materials",), "tax.sales")
    assert str(book.rounded(Fraction(100, 3))) == "33.33"


def test_a_currency_without_minor_units_is_rounded_to_whole_amounts():
    prices = {"box": {"item": "screw", "pack": 100, "price": "900"}}
    book = inline({"currency": "JPY", "prices": prices})
    assert book.places == 0
    assert str(book.rounded(Decimal("99.5"))) == "100"


def test_no_change_of_the_content_keeps_the_digest_but_that_of_the_status():
    before = book_of(WHOLE).digest
    assert book_of(changed(WHOLE, "status", "draft")).digest == before
    for path, new in (
        ("title", "Others"),
        ("prices.box.price", "9.01"),
        ("prices.box.price", "9"),
        ("tax.sales.share", "8.2 %"),
        ("rounding", "up"),
        ("effective", "2026-01-02"),
    ):
        assert book_of(changed(WHOLE, path, new)).digest != before, path


def test_the_order_of_fees_is_part_of_the_digest_and_that_of_prices_is_not():
    fee = WHOLE["fees"]["travel"]
    one = changed(WHOLE, "fees", {"a": fee, "b": fee})
    other = changed(WHOLE, "fees", {"b": fee, "a": fee})
    assert book_of(one).digest != book_of(other).digest
    turned = dict(reversed(WHOLE["prices"].items()))
    assert book_of(changed(WHOLE, "prices", turned)).digest == book_of(WHOLE).digest
