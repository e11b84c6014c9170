"""Price books stand on a shelf of their own, as rule sets do: published, withdrawn, unaltered."""

from __future__ import annotations

import asyncio
import json
import os
from datetime import date
from decimal import Decimal

import pytest
import structlog
from gapwright.__main__ import main
from gapwright.api.catalog import Catalogs
from gapwright.api.problems import ProblemError
from gapwright.api.refresh import fingerprint
from gapwright.api.settings import Settings
from gapwright.pricebooks.shelf import PriceShelf
from gapwright.publishing.publish import publish, withdraw
from gapwright.rulesets.ledger import FILE, WithdrawnError
from gapwright.rulesets.reader import RuleFileError
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY
from tests.unit.make import house_text
from tests.unit.pricebooks.books import OVERLAY, SENT, WHOLE

DAY = date(2026, 12, 1)


@pytest.fixture(autouse=True)
def quiet():
    """Log nothing, whoever configured the log before."""
    before = structlog.get_config()
    structlog.configure(logger_factory=structlog.ReturnLoggerFactory())
    yield
    structlog.configure(**before)


@pytest.fixture
def folder(tmp_path):
    """Return a folder of price books with own@1.0.0 and own@1.1.0, beside no rule sets."""
    found = tmp_path / "rules" / "prices"
    found.mkdir(parents=True)
    add(found, WHOLE)
    add(found, {**OVERLAY, "rounding": "up"})
    return found


def write(folder, tree):
    path = folder / tree["id"] / f"{tree['version']}.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(tree, indent=1), encoding="utf-8")
    return path


def add(folder, tree):
    return publish(write(folder, tree), folder)


def alter(path, old, new):
    text, seen = path.read_text(encoding="utf-8"), path.stat().st_mtime_ns
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    os.utime(path, ns=(seen + 1, seen + 1))


def refused(call):
    with pytest.raises(RuleFileError) as caught:
        call()
    return caught.value.problems


def test_a_withdrawn_book_can_be_looked_at_and_is_not_picked(folder):
    withdraw("prices/own@1.1.0", folder.parent, date(2026, 11, 1))
    shelf = PriceShelf(folder)
    assert shelf.pick("own", DAY).version == "1.0.0"
    with pytest.raises(WithdrawnError):
        shelf.pick("own@1.1.0", DAY)
    assert shelf.load(shelf.ledger["own"]["1.1.0"]).rounding == "up"
    assert (
        "never published" in refused(lambda: withdraw("own@1.1.0", folder.parent, DAY))[0].problem
    )


def test_a_later_book_does_not_take_effect_before_an_earlier_one(folder):
    late = {**OVERLAY, "version": "1.2.0", "effective": "2026-05-31"}
    (problem,) = refused(lambda: add(folder, {**late, "rounding": "up"}))
    assert problem.key == "effective"


@pytest.mark.parametrize(
    ("tree", "told"),
    [
        ({**WHOLE, "version": "2.0.0", "status": "draft", "effective": "2027-01-01"}, "draft"),
        ({**WHOLE, "version": "2.0.0", "id": "inline"}, "inline|called so"),
    ],
)
def test_what_is_not_fit_is_not_published(folder, tree, told):
    with pytest.raises(RuleFileError, match=told):
        add(folder, tree)


def test_a_price_book_is_not_published_among_rule_sets(folder):
    (problem,) = refused(lambda: add(folder.parent, WHOLE))
    assert "prices folder" in problem.remedy
    assert not (folder.parent / FILE).exists()


def test_no_rule_set_is_called_prices_and_none_stands_among_price_books(folder):
    rules = folder.parent
    (rules / FILE).write_text("", encoding="utf-8")
    text = house_text().replace("status: published", "status: draft")
    path = folder / "1.0.0.yaml"
    path.write_text(text.replace("id: baseline", "id: prices"), encoding="utf-8")
    (problem,) = refused(lambda: publish(path, rules))
    assert (problem.key, problem.line) == ("id", 2)
    path = write(folder, {"id": "house", "version": "1.0.0"})
    path.write_text(text.replace("id: baseline", "id: house"), encoding="utf-8")
    told = refused(lambda: publish(path, folder))
    assert "in the price book folder" in told[0].problem


def test_the_shelf_of_rules_does_not_see_the_price_books():
    rules = HISTORY
    assert set(Shelf(rules).ledger).isdisjoint({"prices", "demo"})
    assert set(PriceShelf(rules / "prices").ledger) == {"demo", "seacliff"}


def catalogs_of(rules, default="own"):
    settings = Settings(rules=rules, default_pricebook=default)
    catalogs = Catalogs(settings, lambda: DAY)
    catalogs.rules.shelf = Shelf(HISTORY)
    return catalogs


def asked(catalogs, *arguments):
    return asyncio.run(catalogs.pick_prices(*arguments))


def kind_of(catalogs, *arguments):
    with pytest.raises(ProblemError) as caught:
        asked(catalogs, *arguments)
    return caught.value.kind.name


def test_the_catalog_gives_the_default_book_in_force_or_the_one_that_is_named(folder):
    catalogs = catalogs_of(folder.parent)
    assert asked(catalogs, None, None).name == "own@1.1.0"
    assert asked(catalogs, None, date(2026, 2, 1)).name == "own@1.0.0"
    assert asked(catalogs, "own@1.0.0", None).hourly_rate == Decimal(SENT["labor"]["hourly_rate"])
    assert catalogs.readiness().problems == ()


def test_the_catalog_tells_why_there_is_no_book(folder):
    catalogs = catalogs_of(folder.parent)
    assert kind_of(catalogs, "other", None) == "pricebook-not-found"
    assert kind_of(catalogs, None, date(2025, 12, 31)) == "pricebook-not-found"
    withdraw("prices/own@1.0.0", folder.parent, DAY)
    asyncio.run(catalogs.renew())
    assert kind_of(catalogs, "own@1.0.0", None) == "pricebook-withdrawn"
    alter(folder / "own" / "1.1.0.yaml", '"up"', '"half_even"')
    assert kind_of(catalogs_of(folder.parent), "own", None) == "pricebook-unavailable"


def test_what_is_published_while_the_service_runs_is_taken_up(folder):
    catalogs = catalogs_of(folder.parent)
    before = fingerprint(catalogs)
    add(folder, {**OVERLAY, "version": "1.2.0", "rounding": "half_even"})
    assert fingerprint(catalogs)[0] != before[0]
    asyncio.run(catalogs.renew())
    assert asked(catalogs, None, None).name == "own@1.2.0"


def test_a_broken_ledger_of_prices_is_told_stops_nothing_else_and_is_taken_up_when_mended(folder):
    good = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(f"{good}nonsense\n", encoding="utf-8")
    catalogs = catalogs_of(folder.parent)
    assert asyncio.run(catalogs.pick_rules(None, None)).id == "baseline"
    (problem,) = catalogs.readiness().problems
    assert problem.startswith("prices/ledger.txt:3:")
    (folder / FILE).write_text(good, encoding="utf-8")
    asyncio.run(catalogs.renew())
    assert catalogs.readiness().problems == ()
    assert asked(catalogs, None, None).name == "own@1.1.0"


def test_a_default_book_that_cannot_be_used_is_a_problem_and_the_rules_are_served(folder):
    (problem,) = catalogs_of(folder.parent, "another").readiness().problems
    assert "default price book" in problem
    alter(folder / "own" / "1.1.0.yaml", '"up"', '"half_even"')
    (problem,) = catalogs_of(folder.parent).readiness().problems
    assert problem.startswith("prices/own/1.1.0.yaml")


def test_a_folder_without_price_books_has_no_problem_with_them(tmp_path):
    catalogs = catalogs_of(tmp_path)
    assert catalogs.readiness().problems == ()
    assert kind_of(catalogs, None, None) == "pricebook-not-found"


def test_the_command_line_checks_publishes_and_withdraws_them(folder, capsys):
    tree = {**OVERLAY, "version": "1.2.0", "rounding": "half_even"}
    path = write(folder, tree)
    assert main(["check", str(path)]) == 0
    assert "own@1.2.0 is valid, sha256:" in capsys.readouterr().out
    assert main(["publish", str(path)]) == 0
    assert capsys.readouterr().out.startswith("published own@1.2.0 effective 2026-06-01 sha256:")
    assert main(["withdraw", "prices/own@1.2.0", "--rules", str(folder.parent)]) == 0
    assert PriceShelf(folder).ledger["own"]["1.2.0"].withdrawn is not None


def test_check_finds_the_base_of_a_draft_elsewhere(folder, tmp_path, capsys):
    path = tmp_path / "draft.yaml"
    path.write_text(json.dumps({**OVERLAY, "prices": {"box": {"price": 9}}}, indent=1))
    assert main(["check", str(path), "--rules", str(folder.parent)]) == 1
    told = capsys.readouterr().err
    assert "prices.box.item: This required field is missing" in told
    assert "own@1.0.0 is not published" not in told
    assert main(["check", str(path)]) == 1
    assert "own@1.0.0 is not published" in capsys.readouterr().err
