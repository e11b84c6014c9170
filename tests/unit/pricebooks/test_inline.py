"""A price book that comes with a request: the same content, the same care, no head."""

from __future__ import annotations

import contextlib
import copy
from decimal import Decimal

import pytest
from gapwright.errors import InvalidRequestError
from gapwright.pricebooks.build import digest, inline
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, IN, PROMPT
from tests.unit.pricebooks.books import GONE, HEAD, SENT, WHOLE, book_of, changed, sent


def refused(data):
    with pytest.raises(InvalidRequestError) as caught:
        inline(data)
    return caught.value.faults


def test_it_says_what_the_same_content_says_in_a_file():
    own, file = sent(), book_of(WHOLE)
    for name in ("currency", "rounding", "prices", "hourly_rate", "fees", "minimum", "taxes"):
        assert getattr(own, name) == getattr(file, name)
    assert own.mark_ups == file.mark_ups


def test_it_is_called_inline_and_digested_by_its_content():
    book = sent()
    assert (book.name, book.effective, book.status) == ("inline@0.0.0", None, "sent")
    assert book.digest == digest(SENT)
    assert book.digest.startswith("sha256:")
    turned = dict(reversed(SENT.items()))
    assert inline(turned).digest == book.digest
    assert sent(rounding="up").digest != book.digest


def test_sources_and_meanings_of_prices_may_be_left_out():
    prices = {"roll": {"item": "mesh", "width": "200 mm", "pack": "30 m", "price": "44.00"}}
    book = inline({"currency": "EUR", "prices": prices})
    (price,) = book.prices
    assert price.at(1) == Decimal("44.00")
    assert book.rounding == "half_up"
    assert book.hourly_rate is None


@pytest.mark.parametrize(
    ("path", "new"),
    [
        ("prices.box.price", 9),
        ("prices.box.price", "9.001"),
        ("prices.box.item", GONE),
        ("prices.box.colour", "red"),
        ("prices.box.source", "another"),
        ("labor.hourly_rate", GONE),
        ("labor.hourly_rate", 5),
        ("currency", "EURO"),
        ("currency", GONE),
        ("markup.labor.share", "100 %"),
        ("tax.sales.on", ["all"]),
        ("id", "own"),
        ("based_on", "demo@1.0.0"),
    ],
)
def test_a_fault_is_told_by_its_path_in_the_data(path, new):
    (fault,) = refused(changed(SENT, path, new))
    assert ".".join(map(str, fault.path)).startswith(path)
    assert fault.detail


def test_all_faults_are_told_at_once():
    wrong = changed(changed(SENT, "prices.box.price", 9), "fees.travel.amount", "-1")
    assert {fault.pointer for fault in refused(wrong)} == {
        "/prices/box/price",
        "/fees/travel/amount",
    }


def test_a_head_belongs_to_files_only():
    assert {fault.path for fault in refused({**HEAD, **SENT})} == {(name,) for name in HEAD}


@pytest.mark.parametrize("data", [None, [], "USD", 5, {}])
def test_what_is_no_book_is_refused(data):
    assert refused(data)


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=6,
)
PLACES = (
    "currency",
    "rounding",
    "sources",
    "sources.list",
    "sources.list.title",
    "prices",
    "prices.roll",
    "prices.roll.width",
    "prices.roll.pack",
    "prices.roll.breaks",
    "prices.roll.breaks.5",
    "prices.roll.source",
    "prices.box.price",
    "labor",
    "labor.hourly_rate",
    "labor.source",
    "fees",
    "fees.travel",
    "fees.travel.amount",
    "markup",
    "markup.materials",
    "markup.materials.share",
    "minimum_charge",
    "tax",
    "tax.sales",
    "tax.sales.on",
    "tax.sales.share",
)


@PROMPT
@given(st.sampled_from(PLACES), JUNK)
def test_whatever_stands_at_a_place_it_is_a_book_or_refused_and_stays_as_it_was(path, junk):
    data = changed(SENT, path, junk)
    before = copy.deepcopy(data)
    with contextlib.suppress(InvalidRequestError):
        assert inline(data).digest == digest(data) != ""
    assert repr(data) == repr(before)


def test_a_book_of_many_packs_is_read_whole():
    prices = {
        f"roll_{width}": {"item": "mesh", "width": f"{width} mm", "pack": "30 m", "price": "1.00"}
        for width in range(100, 1100)
    }
    book = sent(prices=prices)
    assert len(book.prices) == 1000
    assert book.find("mesh", 8 * IN, 100 * FT) is None
