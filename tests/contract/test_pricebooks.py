"""The price books over HTTP: which there are, one whole, what changed, and what is refused."""

from __future__ import annotations

import contextlib
import json
import shutil
from datetime import date

import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.pricebooks.build import digest
from gapwright.rulesets.ledger import read_ledger

from tests.contract.ask import SIZING, Service, problem_of
from tests.history import RULES as HISTORY

LEDGER = read_ledger(HISTORY / "prices")
DEMO = "/v1/pricebooks/demo"


def test_all_books_are_listed_with_their_versions(service: Service):
    found = service.ask("GET", "/v1/pricebooks").json()["pricebooks"]
    assert [book["id"] for book in found] == sorted(LEDGER)
    for book in found:
        assert [v["digest"] for v in book["versions"]] == [
            record.digest for record in LEDGER[book["id"]].values()
        ]


def test_one_book_tells_which_version_is_in_force(service: Service):
    found = service.ask("GET", DEMO).json()
    assert found["in_force"] == "2.0.0"
    assert found == service.ask("GET", "/v1/pricebooks").json()["pricebooks"][0]


def test_a_version_is_shown_whole_under_its_digest_and_may_be_kept(service: Service):
    answer = service.ask("GET", f"{DEMO}/1.1.0")
    found = answer.json()
    record = LEDGER["demo"]["1.1.0"]
    assert found["digest"] == record.digest == digest(found["content"])
    assert found["currency"] == found["content"]["currency"] == "USD"
    assert found["chain"] == ["demo@1.0.0", "demo@1.1.0"]
    told = found["origins"]["prices.mesh_10_in_100_ft"]
    assert [origin["ruleset"] for origin in told] == found["chain"]
    assert found["origins"]["labor"][-1]["entry"] == found["content"]["labor"]
    assert answer.headers["cache-control"] == "public, no-cache"


@pytest.mark.parametrize("path", [f"{DEMO}/1.1.0", f"{DEMO}/1.1.0/changes?since=1.0.0"])
def test_what_the_caller_has_still_holds(service: Service, path: str):
    etag = service.ask("GET", path).headers["etag"]
    again = service.ask("GET", path, headers={"if-none-match": etag})
    assert (again.status_code, again.content) == (304, b"")
    for known in ("*", f'"other", {etag}', etag.removeprefix("W/")):
        assert service.ask("GET", path, headers={"if-none-match": known}).status_code == 304
    other = service.ask("GET", path, headers={"if-none-match": '"sha256:0", W/"1"'})
    assert other.status_code == 200


def test_what_changed_is_told_entry_by_entry(service: Service):
    found = service.ask("GET", f"{DEMO}/1.1.0/changes?since=1.0.0").json()
    changes = {change["entry"]: change for change in found["changes"]}
    assert set(changes) == {
        "labor",
        "prices.mesh_10_in_100_ft",
        "prices.mesh_12_in_100_ft",
        "prices.ring_small_box",
        "prices.end_cap_bag",
        "fees.travel",
    }
    assert changes["labor"]["before"]["hourly_rate"] == "55.00"
    assert changes["labor"]["after"]["hourly_rate"] == "58.00"
    assert changes["prices.end_cap_bag"]["after"] is None
    assert changes["prices.ring_small_box"]["before"] is None
    assert "invented" in changes["fees.travel"]["source"]
    same = service.ask("GET", f"{DEMO}/1.1.0/changes?since=1.1.0").json()
    assert same["changes"] == []


@pytest.mark.parametrize(
    "path",
    [
        "/v1/pricebooks/none",
        "/v1/pricebooks/baseline",
        f"{DEMO}/9.9.9",
        "/v1/pricebooks/baseline/1.0.0",
        f"{DEMO}/1.1.0/changes?since=0.9.0",
        "/v1/pricebooks/" + "x" * 5000,
    ],
)
def test_what_there_is_not_is_told(service: Service, path: str):
    found = problem_of(service.ask("GET", path), 404)
    assert found["type"] == "/problems/pricebook-not-found"
    assert len(found["detail"]) < 500


@pytest.mark.parametrize("path", ["/v1/pricebooks?x=1", f"{DEMO}?x=1", f"{DEMO}/1.1.0/changes"])
def test_a_query_that_is_wrong_is_told(service: Service, path: str):
    assert problem_of(service.ask("GET", path), 422, "")["errors"]


def test_the_folder_of_prices_is_no_rule_set(service: Service):
    listed = service.ask("GET", "/v1/rulesets").json()["rulesets"]
    assert {"prices", "demo"}.isdisjoint(ruleset["id"] for ruleset in listed)
    problem_of(service.ask("GET", "/v1/rulesets/prices"), 404)


def test_the_schema_of_price_books_is_served(service: Service):
    answer = service.ask("GET", "/pricebook.schema.json")
    assert answer.headers["content-type"].startswith("application/schema+json")
    assert answer.json()["title"] == "A price book of gapwright"


def test_a_broken_book_is_told_and_the_other_calls_go_on(tmp_path):
    rules = shutil.copytree(HISTORY, tmp_path / "rules")
    path = rules / "prices" / "demo" / "1.0.0.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"24.00"', "24.00"), encoding="utf-8")
    with contextlib.closing(
        Service(create_app(Settings(rules=rules), today=lambda: date(2026, 3, 1)))
    ) as service:
        check_the_rest_goes_on(service)


def check_the_rest_goes_on(service: Service):
    found = problem_of(service.ask("GET", f"{DEMO}/1.0.0"), 503)
    assert found["type"] == "/problems/pricebook-unavailable"
    assert "mesh_8_in_100_ft.price" in found["detail"]
    ready = service.ask("GET", "/readyz")
    assert ready.status_code == 200
    assert any("prices/demo/1.0.0.yaml" in problem for problem in ready.json()["problems"])
    assert service.post("/v1/sizing", json.dumps(SIZING).encode()).status_code == 200
    assert service.ask("GET", "/v1/pricebooks/seacliff/1.0.0").status_code == 200
