"""The crew sheet over HTTP: whose quote it belongs to, and for which jobs there is none."""

from __future__ import annotations

import asyncio
import re
import threading
from typing import Any

import pytest
from gapwright.api import calls
from pypdfium2 import PdfDocument

from tests.contract.ask import EXAMPLES, Service

PATH = "/v1/quote/crew-sheet"
HOUSE = EXAMPLES[PATH]["quote-house"]


def text_of(pdf: bytes) -> str:
    pages = [page.get_textpage().get_text_range() for page in PdfDocument(pdf)]
    return re.sub(r"\s+", " ", " ".join(pages))


@pytest.mark.parametrize("name", EXAMPLES[PATH])
def test_it_is_a_pdf_that_no_cache_keeps_under_a_named_rule_set(service: Service, name: str):
    answer = service.shown(PATH, name)
    assert answer.status_code == 200, answer.text
    assert answer.content.startswith(b"%PDF-")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == 'inline; filename="crew-sheet.pdf"'
    assert answer.headers["cache-control"] == "no-store"
    named = {"quote-house": "baseline@2.0.0", "quote-sparse": "baseline@2.0.0"}
    assert answer.headers["gapwright-ruleset"] == named[name]
    assert answer.headers["gapwright-ruleset-digest"].startswith("sha256:")


@pytest.mark.parametrize("name", EXAMPLES[PATH])
def test_it_carries_the_receipt_of_the_quote_that_the_same_request_answers(
    service: Service, name: str
):
    quoted = service.shown("/v1/quote", name).json()
    text = text_of(service.shown(PATH, name).content)
    head = quoted["ruleset"]
    assert f"Rules {head['id']}@{head['version']} {head['digest']}" in text
    assert f"engine {quoted['engine']}" in text
    assert f"Request {quoted['receipt']['request']}" in text
    assert f"Result {quoted['receipt']['result']}" in text


@pytest.mark.parametrize("name", EXAMPLES[PATH])
def test_no_amount_of_the_price_stands_on_it(service: Service, name: str):
    price = service.shown("/v1/quote", name).json()["result"]["price"]
    amounts = {price["subtotal"], price["total"], price["materials"]["price"]}
    amounts |= {line["amount"] for line in price["lines"]}
    assert len(amounts) > 4
    text = text_of(service.shown(PATH, name).content)
    assert not [amount for amount in amounts if amount in text]
    assert price["currency"] not in text


def refused(service: Service, request: Any) -> dict[str, Any]:
    answer = service.post(PATH, request)
    assert answer.status_code == 422, answer.text[:200]
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["gapwright-ruleset"] == "baseline@2.0.0"
    told: dict[str, Any] = answer.json()
    assert told["type"] == "/problems/crew-sheet-unavailable"
    return told


def test_an_unsuitable_job_has_no_sheet_and_every_reason_says_why(service: Service):
    request = HOUSE | {"site": {"active_nest": True, "bat_roost": True}}
    reasons = [
        reason
        for reason in service.post("/v1/quote", request).json()["result"]["suitability"]["reasons"]
        if reason["verdict"] == "unsuitable"
    ]
    assert len(reasons) >= 1
    told = refused(service, request)
    assert len(told["errors"]) == len(reasons)
    for reason, error in zip(reasons, told["errors"], strict=True):
        assert error["detail"].startswith(reason["text"])
        assert reason["text"] in told["detail"]
        assert (reason["remedy"] or "Nothing in the request") in error["detail"]


def test_a_job_without_a_strip_that_is_wide_enough_has_no_sheet(service: Service):
    told = refused(service, HOUSE | {"clearance": {"readings": ["30 in"]}})
    assert [error["pointer"] for error in told["errors"]] == ["/planes"]
    assert "No stock strip is wide enough for South, West." in told["detail"]


def test_faults_of_the_request_are_told_as_the_quote_tells_them(service: Service):
    request = HOUSE | {"planes": [{"arrays": [{}]}], "roll_length": "1 in"}
    quoted, printed = (service.post(path, request) for path in ("/v1/quote", PATH))
    assert quoted.status_code == printed.status_code == 422
    assert printed.json() == quoted.json()


def test_the_sheet_is_made_beside_the_loop(service: Service, monkeypatch: pytest.MonkeyPatch):
    """A sheet takes a quarter of a second: nobody else may wait for it."""
    seen: list[bool] = []

    def make(*_: Any) -> bytes:
        seen.append(threading.current_thread() is threading.main_thread())
        with pytest.raises(RuntimeError):
            asyncio.get_running_loop()
        return b"%PDF-"

    monkeypatch.setattr(calls, "render_pdf", make)
    assert service.post(PATH, HOUSE).content == b"%PDF-"
    assert seen == [False]
