"""The rules desk over other folders: thousands of rule sets, withdrawn versions, broken files."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.rulesets.ledger import FILE

from tests.contract.ask import Service
from tests.contract.markup import Node, parsed
from tests.contract.rules_pages import BROWSER, SHELF, cells, differences_address
from tests.history import RULES as HISTORY

TODAY = date(2026, 7, 1)
DIGEST = f"sha256:{'0' * 64}"
COMPANIES = 1234
IDENTIFIER, VERSIONS = next((i, list(v)) for i, v in SHELF.ledger.items() if len(v) > 1)
FIRST, LAST = VERSIONS[0], VERSIONS[-1]


def service_of(folder: Path, today: date = TODAY) -> Service:
    return Service(create_app(Settings(rules=folder), today=lambda: today))


def page_of(service: Service, path: str, status: int = 200) -> Node:
    answer = service.ask("GET", path, headers=BROWSER)
    assert answer.status_code == status, answer.text[:500]
    return parsed(answer.text)


def rows_of(page: Node) -> list[Node]:
    return list(page.one("tbody").all("tr"))


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A shelf that knows of many rule sets, and has no file of any of them."""
    folder = tmp_path_factory.mktemp("many")
    lines = [
        f"published company-{n:04}@{version} effective {day} {DIGEST}\n"
        for n in range(COMPANIES)
        for version, day in (("1.0.0", "2026-01-01"), ("1.1.0", "2026-08-01"))
    ]
    (folder / FILE).write_text("".join(lines))
    service = service_of(folder)
    yield service
    service.close()


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    folder = tmp_path / "rules"
    shutil.copytree(HISTORY, folder)
    return folder


def test_a_long_list_comes_a_hundred_at_a_time_and_no_rule_set_is_missed(many: Service):
    seen: list[str] = []
    path, pages = "/rules", 0
    while path:
        page, pages = page_of(many, path), pages + 1
        found = [row.one("th").one("a").text for row in rows_of(page)]
        assert len(found) <= 100
        seen += found
        after = [a for a in page.all("a") if a.attributes.get("rel") == "next"]
        path = after[0].attributes["href"] if after else ""
    assert pages == 13
    assert seen == [f"company-{n:04}" for n in range(COMPANIES)]


def test_a_row_of_the_list_tells_what_is_in_force_without_reading_a_file(many: Service):
    row = cells(rows_of(page_of(many, "/rules"))[0])
    assert row == {
        "Rule set": "company-0000",
        "In effect today": "company-0000@1.0.0",
        "Effective since": "2026-01-01",
        "Versions": "2",
    }


def test_a_part_of_a_name_finds_all_that_have_it_in_any_case(many: Service):
    page = page_of(many, "/rules?q=%20PANY-09")
    assert "100 rule sets of 1,234 with “pany-09” in the name" in page.text
    assert len(rows_of(page)) == 100
    assert page.by_id("q").attributes["value"] == " PANY-09"


def test_a_filter_goes_along_to_the_next_page(many: Service):
    page = page_of(many, "/rules?q=company&page=2")
    links = {a.attributes.get("rel"): a.attributes["href"] for a in page.all("a")}
    assert links["prev"] == "/rules?q=company&page=1"
    assert links["next"] == "/rules?q=company&page=3"
    assert "101 to 200 on this page" in page.text


def test_a_name_that_none_has_finds_none_and_says_so(many: Service):
    page = page_of(many, "/rules?q=nobody")
    assert "0 rule sets of 1,234" in page.text
    assert list(page.all("table")) == []


@pytest.mark.parametrize("number", ["0", "14", "-1", "x", "1.5", "", "9" * 400, "١"])
def test_a_page_that_is_not_there_is_refused(many: Service, number: str):
    page = page_of(many, f"/rules?page={number}", 422)
    assert "/page Page '" in page.text
    assert "does not exist. Start at page 1." in page.text


def test_a_short_list_says_which_rule_set_cannot_be_used(many: Service):
    (row,) = rows_of(page_of(many, "/rules?q=company-0007"))
    assert "Cannot be used:" in row.text
    assert "company-0007/1.0.0.yaml" in row.text


def test_a_version_that_cannot_be_used_is_a_page_that_says_why(many: Service):
    page = page_of(many, "/rules/company-0007/1.0.0", 503)
    assert page.one("h1").text == "Rule set unavailable"
    assert "company-0007/1.0.0.yaml:1:1" in page.text


def test_a_file_that_is_not_what_was_published_is_not_shown(copied: Path):
    file = copied / IDENTIFIER / f"{LAST}.yaml"
    file.write_text(file.read_text().replace("title: ", "title: Not ", 1))
    service = service_of(copied)
    page = page_of(service, f"/rules/{IDENTIFIER}/{LAST}", 503)
    assert f"The file differs from the published {IDENTIFIER}@{LAST}." in page.text
    page_of(service, f"/rules/{IDENTIFIER}/{FIRST}")
    compared = page_of(service, differences_address(*names(FIRST, LAST)), 422)
    assert "differs from the published" in compared.by_id("to-faults").text
    service.close()


def names(*versions: str) -> list[str]:
    return [f"{IDENTIFIER}@{version}" for version in versions]


def test_a_version_says_when_it_holds(copied: Path):
    service = service_of(copied)
    rows = rows_of(page_of(service, f"/rules/{IDENTIFIER}"))
    assert [row.one("th").text for row in rows] == VERSIONS[::-1]
    assert "in effect from 2026-06-01 to 2026-10-31 in effect today" in rows[-2].text
    assert "was in effect from 2026-01-01 to 2026-05-31" in rows[-1].text
    assert "first version" in rows[-1].text
    for row, record in zip(reversed(rows), SHELF.ledger[IDENTIFIER].values(), strict=True):
        assert record.digest in row.text
        assert str(record.effective) in row.text
    service.close()


@pytest.mark.parametrize(
    ("today", "state"),
    [
        (date(2025, 12, 31), "in effect from 2026-01-01 to 2026-05-31"),
        (date(2026, 1, 1), "in effect from 2026-01-01 to 2026-05-31 in effect today"),
        (date(2026, 5, 31), "in effect from 2026-01-01 to 2026-05-31 in effect today"),
        (date(2026, 6, 1), "was in effect from 2026-01-01 to 2026-05-31"),
    ],
)
def test_a_version_holds_on_its_first_day_and_on_its_last(today: date, state: str):
    service = service_of(HISTORY, today)
    row = rows_of(page_of(service, f"/rules/{IDENTIFIER}"))[-1]
    assert cells(row)["Status"] == state
    service.close()


def test_a_withdrawn_version_is_read_with_a_warning_and_is_in_force_no_more(copied: Path):
    with (copied / FILE).open("a") as ledger:
        ledger.write(f"withdrawn {IDENTIFIER}@{LAST} on 2026-06-20\n")
    service = service_of(copied)
    versions = page_of(service, f"/rules/{IDENTIFIER}")
    assert "withdrawn on 2026-06-20" in rows_of(versions)[0].text
    in_force = SHELF.record(IDENTIFIER, TODAY).name
    assert in_force != f"{IDENTIFIER}@{LAST}"
    assert f"{in_force} is in effect." in versions.text
    page = page_of(service, f"/rules/{IDENTIFIER}/{LAST}")
    assert "This version was withdrawn on 2026-06-20." in page.text
    assert "Status withdrawn" in page.by_id("head").text
    job = "%7B%22clearance%22:%7B%22readings%22:%5B%224%20in%22%5D%7D%7D"
    before, after = names(FIRST, LAST)
    tried = page_of(service, f"/rules/what-if?call=sizing&before={before}&after={after}&job={job}")
    assert f"{after} was withdrawn on 2026-06-20; it cannot be used for new quotes." in tried.text
    service.close()


def test_a_rule_set_of_which_nothing_holds_yet_says_from_when(tmp_path: Path):
    ledger = f"published later@1.0.0 effective 2026-07-02 {DIGEST}\n"
    ledger += f"published later@1.1.0 effective 2026-07-02 {DIGEST}\n"
    (tmp_path / FILE).write_text(ledger)
    service = service_of(tmp_path)
    assert "The first takes effect on 2026-07-02" in page_of(service, "/rules").text
    page = page_of(service, "/rules/later")
    assert "no version is in effect" in page.text
    states = [cells(row)["Status"] for row in rows_of(page)]
    assert states == [
        "in effect from 2026-07-02",
        "never in effect: 1.1.0 takes effect the same day",
    ]
    service.close()


def test_an_empty_shelf_has_a_list_and_a_form(tmp_path: Path):
    service = service_of(tmp_path)
    assert "0 rule sets." in page_of(service, "/rules").text
    assert page_of(service, "/rules/what-if").by_id("before").attributes["value"] == ""
    service.close()
