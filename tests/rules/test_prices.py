"""The price books that come with the service: as published, and with a price for every pack."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from gapwright.__main__ import main
from gapwright.api.system import published_price_schema
from gapwright.calc.bill import bill, lines_of, quick_drivers
from gapwright.places import shipped
from gapwright.pricebooks.shelf import PriceShelf
from gapwright.publishing.publish import publish
from gapwright.rulesets.figures import Figure, present
from gapwright.rulesets.ledger import read_ledger
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.shelf import Shelf
from jsonschema import Draft202012Validator, FormatChecker

from tests.history import RULES as HISTORY
from tests.unit.measures import FT, IN

RULES = HISTORY
PRICES = RULES / "prices"
FILES = sorted(PRICES.glob("*/*.yaml"))
SHIPPED = sorted((shipped("rules") / "prices").glob("*/*.yaml"))
LEDGER = read_ledger(PRICES)
RECORDS = [record for versions in LEDGER.values() for record in versions.values()]
SHELF = PriceShelf(PRICES)
SCHEMA = Path(__file__).parents[2] / "openapi" / "pricebook.schema.json"
VALIDATOR = Draft202012Validator(
    json.loads(SCHEMA.read_bytes()), format_checker=FormatChecker(["date"])
)

RULE_RECORDS = [record for versions in read_ledger(RULES).values() for record in versions.values()]
BOOK_OF = {"seacliff": "seacliff"}
"""The book that a company of the shipped rule sets buys by; all others by the demonstration's."""


def file_name(path):
    return f"{path.parent.name}-{path.stem}"


def test_each_file_is_recorded_and_each_record_has_its_file():
    recorded = {PRICES / record.id / f"{record.version}.yaml" for record in RECORDS}
    assert set(FILES) == recorded
    assert set(LEDGER) == {"demo", "seacliff"}


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.name)
def test_each_file_is_what_was_published(record):
    book = SHELF.load(record)
    assert (book.name, book.digest, book.effective) == (
        record.name,
        record.digest,
        record.effective,
    )
    assert book.status == "published"


@pytest.mark.parametrize("path", SHIPPED, ids=file_name)
def test_each_shipped_file_names_the_schema_in_its_first_line(path):
    first = path.read_text(encoding="utf-8").splitlines()[0]
    named = first.removeprefix("# yaml-language-server: $schema=")
    assert (path.parent / named).resolve() == SCHEMA.resolve()


@pytest.mark.parametrize("path", FILES, ids=file_name)
def test_each_file_fits_the_schema(path):
    tree = read(path.read_bytes(), path.name).tree
    assert [error.message for error in VALIDATOR.iter_errors(tree)] == []


def test_the_committed_schema_is_the_one_that_is_generated():
    assert SCHEMA.read_bytes() == published_price_schema(), (
        "Publish it: gapwright schema --prices > openapi/pricebook.schema.json"
    )


def test_the_schema_is_what_the_command_prints(capfdbinary):
    assert main(["schema", "--prices"]) == 0
    assert capfdbinary.readouterr().out == SCHEMA.read_bytes()


def test_check_accepts_every_file(capsys):
    assert main(["check", *map(str, FILES)]) == 0
    assert len(capsys.readouterr().out.splitlines()) == len(FILES)


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_an_altered_copy_is_neither_served_nor_published_again(path, tmp_path):
    folder = tmp_path / "prices"
    for file in (*FILES, PRICES / "ledger.txt"):
        copied = folder / file.relative_to(PRICES)
        copied.parent.mkdir(parents=True, exist_ok=True)
        copied.write_bytes(file.read_bytes())
    altered = folder / path.relative_to(PRICES)
    altered.write_text(path.read_text(encoding="utf-8").replace('.00"', '.01"', 1))
    with pytest.raises(RuleFileError, match="differs from the published"):
        PriceShelf(folder).load(LEDGER[path.parent.name][path.stem])
    with pytest.raises(RuleFileError, match=r"published with different content|differs from"):
        publish(altered, folder)


def packs_of(rules):
    """Return every pack that a rule set's bill can order: item, width, and what it holds."""
    for item in rules.bill:
        sizes = (item.pack.pack_size, *item.pack.also) if item.pack else (1,)
        widths = rules.values.stock_widths if item.measured else (None,)
        yield from ((item.id, width, pack_size) for width in widths for pack_size in sizes)


def priced(book, rules):
    """Return the packs that a rule set's bill can order, and those that have no price."""
    packs = list(packs_of(rules))
    return packs, [pack for pack in packs if book.find(*pack) is None]


@pytest.mark.parametrize("record", RULE_RECORDS, ids=lambda record: record.name)
def test_every_pack_of_a_shipped_rule_set_has_a_price_in_its_book_of_that_time(record):
    """A book of a later generation of the rules has all that they order; an older one need not."""
    rules = Shelf(RULES).load(record)
    major = record.version.split(".")[0]
    books = LEDGER[BOOK_OF.get(record.id, "demo")].values()
    for book in (one for one in books if one.version.split(".")[0] >= major):
        packs, missing = priced(SHELF.load(book), rules)
        assert len(packs) >= 15
        assert missing == [], f"{book.name} has no price for these packs of {record.name}"


def test_a_price_that_is_missing_is_found():
    rules = Shelf(RULES).pick("seacliff", date(2026, 12, 1))
    _, missing = priced(SHELF.pick("demo", date(2026, 12, 1)), rules)
    assert ("rinse", None, 1) in missing
    assert ("mesh", 200_000_000, 30_000_000_000) in missing
    assert ("screw", None, 100) not in missing


@pytest.mark.parametrize("day", [date(2026, 1, 1), date(2026, 12, 1)])
def test_the_materials_of_the_worked_job_cost_about_100_us_dollars(day):
    """4 1/2 in, 90 ft: an 8-in strip; two rolls, 15 screws, washers and ties, 45 rings."""
    rules = Shelf(RULES).pick("baseline", day)
    book = SHELF.pick("demo", day)
    drivers = quick_drivers(Figure(90 * FT), Figure(4), Figure(0), rules)
    facts = {"joining": "rings", "finish": "prepainted", "attachment": "rails"}
    lines = list(present(lines_of(bill(drivers, facts, rules), None, rules).values()))
    quantities = {line.item: line.quantity.amount for line in lines if not line.quantity.measured}
    assert quantities == {"screw": 15, "washer": 15, "tie": 15, "ring": 45}
    cost = Decimal(0)
    for line in lines:
        width = 8 * IN if line.quantity.measured else None
        price = book.find(line.item, width, line.packs.pack_size.amount)
        cost += price.at(line.packs.count) * line.packs.count
    assert 70 <= cost <= 130
    assert 70 <= book.rounded(book.mark_ups.materials.on(cost)) <= 130
