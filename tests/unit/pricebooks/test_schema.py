"""What a price book may not say: each fault is told with its place, all of them at once."""

from __future__ import annotations

import json

import pytest
from gapwright.api.system import published_price_schema
from gapwright.pricebooks.build import is_price_book
from jsonschema import Draft202012Validator

from tests.unit.pricebooks.books import GONE, OVERLAY, WHOLE, book_of, changed, problems_of

VALIDATOR = Draft202012Validator(json.loads(published_price_schema()))

WRONG = [
    ("currency", GONE),
    ("currency", "usd"),
    ("currency", "Dollar"),
    ("currency", 840),
    ("currency", "XXX"),
    ("currency", "XAU"),
    ("rounding", GONE),
    ("rounding", "down"),
    ("prices", GONE),
    ("pricess", {}),
    ("sources", GONE),
    ("prices.box.price", 9),
    ("prices.box.price", 9.5),
    ("prices.box.price", True),
    ("prices.box.price", None),
    ("prices.box.price", "-9.00"),
    ("prices.box.price", "9e2"),
    ("prices.box.price", "NaN"),
    ("prices.box.price", "Infinity"),
    ("prices.box.price", "1,000.00"),
    ("prices.box.price", "$9.00"),
    ("prices.box.price", "9.00 USD"),
    ("prices.box.price", ""),
    ("prices.box.price", "09.00"),
    ("prices.box.price", "9."),
    ("prices.box.price", ".90"),
    ("prices.box.price", "٩.00"),
    ("prices.box.price", " 9.00"),
    ("prices.box.price", "9.00\n"),
    ("prices.box.price", "1000000000.01"),
    ("prices.box.price", "9" * 25),
    ("prices.box.price", GONE),
    ("prices.box.cost", "9.00"),
    ("prices.box.pack", GONE),
    ("prices.box.pack", 0),
    ("prices.box.pack", -1),
    ("prices.box.pack", 1.5),
    ("prices.box.pack", True),
    ("prices.box.pack", 1_000_001),
    ("prices.box.item", "Screw"),
    ("prices.box.description", GONE),
    ("prices.box.source", GONE),
    ("prices.roll.width", 8),
    ("prices.roll.breaks", {"five": "22.00"}),
    ("prices.roll.breaks", {"05": "22.00"}),
    ("prices.roll.breaks", {"1": "22.00"}),
    ("prices.roll.breaks", {"0": "22.00"}),
    ("prices.roll.breaks", {"9999999": "22.00"}),
    ("prices.roll.breaks", {"5": 22}),
    (
        "prices.Roll",
        {"item": "mesh", "pack": 1, "price": "1.00", "description": "m", "source": "list"},
    ),
    ("labor.hourly_rate", 55),
    ("labor.hourly_rate", GONE),
    ("labor.source", GONE),
    ("labor.day", "400.00"),
    ("fees.travel.amount", 35),
    ("fees.travel.description", GONE),
    ("fees.travel.source", GONE),
    ("markup.materials.kind", "profit"),
    ("markup.materials.share", 20),
    ("markup.fees", {"kind": "margin", "share": "20 %"}),
    ("minimum_charge", 350),
    ("minimum_charge", None),
    ("tax.sales.share", 8.25),
    ("tax.sales.on", []),
    ("tax.sales.on", ["material"]),
    ("tax.sales.on", "materials"),
    ("tax.sales.on", ["materials", "materials"]),
    ("tax.sales.source", GONE),
    ("id", "Own"),
    ("version", "1.0"),
    ("remove", {"prices": ["box"]}),
]
"""What the file schema refuses as well, so that an editor shows it."""

MORE = [
    ("prices.box.price", "9.001"),
    ("prices.box.pack", "100"),
    ("prices.box.pack", "100 lb"),
    ("prices.box.pack", "1/64 in"),
    ("prices.box.pack", "90000 ft"),
    ("prices.box.width", "8 in"),
    ("prices.roll.width", "0 in"),
    ("prices.roll.width", "8"),
    ("prices.roll.breaks", {"10": "22.00", "5": "23.00"}),
    ("prices.roll.breaks", {"5": "24.01"}),
    ("prices.roll.breaks", {"5": "22.00", "10": "22.01"}),
    ("prices.box.source", "another"),
    ("labor.source", "another"),
    ("tax.sales.source", "another"),
    ("markup.labor.share", "100 %"),
    ("markup.labor.share", "99.5 %"),
    ("markup.materials.share", "1001 %"),
    ("markup.materials.share", "-5 %"),
    ("markup.materials.share", "0.2"),
    ("tax.sales.share", "101 %"),
    ("id", "inline"),
]


def at_all(path, new):
    return problems_of(changed(WHOLE, path, new))


def test_the_book_of_these_tests_is_sound():
    assert at_all("title", "Own prices") == ()
    assert VALIDATOR.is_valid(WHOLE)
    assert VALIDATOR.is_valid({**OVERLAY, "fees": WHOLE["fees"]})


@pytest.mark.parametrize(("path", "new"), [*WRONG, *MORE], ids=lambda one: str(one)[:40])
def test_a_fault_is_told_at_its_place_with_a_remedy(path, new):
    (problem, *others) = at_all(path, new)
    assert not others
    assert problem.key.startswith(path)
    assert problem.line > 1 or new is GONE
    assert problem.problem
    assert problem.remedy or "Expected" in problem.problem


@pytest.mark.parametrize(("path", "new"), WRONG, ids=lambda one: str(one)[:40])
def test_the_file_schema_refuses_it_too(path, new):
    assert not VALIDATOR.is_valid(changed(WHOLE, path, new))


@pytest.mark.parametrize(
    ("path", "new"),
    [
        ("prices.roll.price", "1000000000"),
        ("prices.roll.price", "1000000000.00"),
        ("prices.roll.price", "999999999.99"),
        ("prices.roll.breaks", {"2": "22.00", "10": "21.00", "999999": "20.00", "1000000": "19"}),
        ("tax.sales.on", ["materials", "labor", "fees"]),
    ],
)
def test_what_stands_just_within_the_bounds_is_taken(path, new):
    assert at_all(path, new) == ()
    assert VALIDATOR.is_valid(changed(WHOLE, path, new))


@pytest.mark.parametrize(
    ("path", "new"),
    [
        ("currency", "JPYX"),
        ("fees.travel.amount", 35),
        ("minimum_charge", 5),
        ("based_on", "own"),
        ("remove", {"markup": ["labor"]}),
    ],
)
def test_the_file_schema_refuses_what_is_wrong_in_an_overlay(path, new):
    wrong = changed({**OVERLAY, "fees": WHOLE["fees"]}, path, new)
    assert problems_of(wrong, own=WHOLE)
    assert not VALIDATOR.is_valid(wrong)


def test_a_bare_number_is_refused_by_the_name_of_its_field():
    (problem,) = at_all("prices.box.price", 9)
    assert problem.key == "prices.box.price"
    assert "number 9" in problem.problem
    assert '"42.00"' in problem.problem


def test_amounts_have_no_decimals_in_a_currency_without_minor_units():
    (problem, *_) = at_all("currency", "JPY")
    assert "more than 0 decimals" in problem.problem
    assert '"42"' in problem.problem


def test_all_faults_are_told_at_once_each_in_its_line():
    wrong = changed(WHOLE, "prices.box.price", 9)
    wrong = changed(wrong, "fees.travel.amount", "-1.00")
    wrong = changed(wrong, "tax.sales.share", "8")
    wrong = changed(wrong, "currency", "dollars")
    wrong = changed(wrong, "labor", {})
    found = problems_of(wrong)
    assert {problem.key for problem in found} == {
        "prices.box.price",
        "fees.travel.amount",
        "tax.sales.share",
        "currency",
        "labor.hourly_rate",
    }
    assert [p.line for p in found] == sorted(p.line for p in found)
    assert len({p.line for p in found}) == 5


@pytest.mark.parametrize("pack", ["100 ft", "30.48 m", "1200 in"])
def test_a_pack_is_priced_once_however_it_is_written(pack):
    again = {**WHOLE["prices"]["roll"], "pack": pack, "width": "203.2 mm"}
    (problem,) = at_all("prices.again", again)
    assert problem.key == "prices.again"
    assert "roll" in problem.problem


def test_the_same_pack_in_another_width_is_another_one():
    assert at_all("prices.again", {**WHOLE["prices"]["roll"], "width": "6 in"}) == ()


def test_a_key_that_stands_twice_is_refused():
    text = json.dumps(WHOLE, indent=1).replace('"labor": {', '"currency": "EUR",\n "labor": {', 1)
    (problem,) = problems_of(text)
    assert problem.key.startswith("currency")
    assert "Duplicate key" in problem.problem


@pytest.mark.parametrize(
    ("tree", "is_one"),
    [
        (WHOLE, True),
        ({"currency": "USD"}, True),
        ({**OVERLAY, "tax": {}}, True),
        ({"id": "baseline", "values": {}, "bill": {}}, False),
        ({}, False),
    ],
)
def test_what_a_file_is_is_told_by_its_content(tree, is_one):
    assert is_price_book(tree) is is_one


def test_what_may_be_left_out_is_none():
    tree = WHOLE
    for name in ("labor", "fees", "markup", "minimum_charge", "tax"):
        tree = changed(tree, name, GONE)
    book = book_of(tree)
    assert (book.hourly_rate, book.fees, book.minimum, book.taxes) == (None, (), None, ())
    assert book.mark_ups.materials is None
    assert book.mark_ups.labor is None
