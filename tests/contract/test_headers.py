"""Headers: what a body is declared as, request ids, and what no cache may keep."""

from __future__ import annotations

import json
from typing import Any

import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings

from tests.contract.ask import SIZING, Service, http_scope, problem_of, unpacked
from tests.history import RULES as HISTORY

GOOD = json.dumps(SIZING).encode()

DECLARED_JSON = (
    "application/json",
    "Application/JSON",
    "application/json;",
    "application/json; charset=utf-8",
    "application/json;charset=UTF-8",
    'application/json ; profile="a;b"',
    "application/json; charset=utf-16",
)
"""RFC 8259 knows no charset for JSON, so that one is passed over: the body is UTF-8."""

DECLARED_OTHERWISE = (
    "",
    "text/plain",
    "text/json",
    "application/x-www-form-urlencoded",
    "multipart/form-data; boundary=x",
    "multipart/form-data",
    "application/xml",
    "application/problem+json",
    "application/jsonl",
    "application",
    "application/*",
    "*/*",
    ";",
    "application/json, text/plain",
    "text/plain; application/json",
    "a" * 5000,
)

TAKEN_IDS = ("a", "0", "job-42", "A.b_c:d-e", "x" * 128, "550e8400-e29b-41d4-a716-446655440000")

NASTY_IDS = (
    b"",
    b" ",
    b"a b",
    b"a\nb",
    b"a\r\nSet-Cookie: x=1",
    b"\x00",
    b"\x7f",
    b"x" * 129,
    b"x" * 10_240,
    "größe".encode(),
    b"\xff\xfe",
    b"<script>",
    b'"quoted"',
    b"a,b",
    b"job-42\n",
)


@pytest.mark.parametrize("declared", DECLARED_JSON)
def test_json_is_taken_however_it_is_declared(service: Service, declared: str):
    assert service.ask("POST", "/v1/sizing", GOOD, {"content-type": declared}).status_code == 200


@pytest.mark.parametrize("declared", DECLARED_OTHERWISE)
def test_what_is_not_declared_as_json_is_refused(service: Service, declared: str):
    answer = service.ask("POST", "/v1/sizing", GOOD, {"content-type": declared})
    found = problem_of(answer, 415)
    assert "application/json" in found["detail"]
    assert len(found["detail"]) < 500


def test_a_body_that_is_not_declared_at_all_is_refused(service: Service):
    problem_of(service.ask("POST", "/v1/sizing", GOOD), 415)


def test_a_content_type_that_is_no_ascii_is_refused(service: Service):
    scope = http_scope("POST", "/v1/sizing", (b"content-type", b"application/\xff\xfe"))
    assert unpacked(service.messages(scope, [{"type": "http.request", "body": GOOD}]))[0] == 415


@pytest.mark.parametrize("accept", ["text/html", "application/xml", "image/png;q=0", "", "?"])
def test_answers_are_json_whatever_is_accepted(service: Service, accept: str):
    answer = service.post("/v1/sizing", GOOD, accept=accept)
    assert answer.headers["content-type"] == "application/json"


@pytest.mark.parametrize("given", TAKEN_IDS)
def test_a_request_id_is_returned_on_answers_and_refusals(service: Service, given: str):
    for body in (GOOD, b"{}", b"{"):
        answer = service.post("/v1/sizing", body, x_request_id=given)
        assert answer.headers["x-request-id"] == given
    assert (
        service.ask("GET", "/nowhere", None, {"x-request-id": given}).headers["x-request-id"]
        == given
    )


@pytest.mark.parametrize("nasty", NASTY_IDS)
def test_a_nasty_request_id_is_replaced(service: Service, nasty: bytes):
    told = (b"content-type", b"application/json"), (b"x-request-id", nasty)
    scope = http_scope("POST", "/v1/sizing", *told)
    received = [{"type": "http.request", "body": GOOD, "more_body": False}]
    _, headers, _ = unpacked(service.messages(scope, received))
    assert headers["x-request-id"].isalnum()
    assert headers["x-request-id"].encode() != nasty
    assert len(headers["x-request-id"]) == 32


def test_requests_without_an_id_get_one_each(service: Service):
    ids = {service.post("/v1/sizing", GOOD).headers["x-request-id"] for _ in range(20)}
    assert len(ids) == 20


def test_no_answer_of_a_call_may_be_kept_by_a_cache(service: Service):
    for body in (GOOD, b"{}", b"{"):
        assert service.post("/v1/sizing", body).headers["cache-control"] == "no-store"


def test_a_failure_of_the_service_tells_its_id_and_not_its_cause():
    def clockless() -> Any:
        raise ZeroDivisionError("the cause")

    broken = Service(create_app(Settings(rules=HISTORY), today=clockless))
    answer = broken.post("/v1/sizing", GOOD, x_request_id="job-42")
    broken.close()
    assert answer.status_code == 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-request-id"] == "job-42"
    assert answer.json()["type"] == "/problems/internal-server-error"
    assert "cause" not in answer.json()["detail"].removeprefix("The log has the cause")
    assert "ZeroDivision" not in answer.text


@pytest.mark.parametrize("encoding", ["br", "identity, gzip", "x" * 10_000])
def test_a_body_in_another_encoding_is_refused_with_the_known_ones(service: Service, encoding: str):
    answer = service.post("/v1/sizing", GOOD, content_encoding=encoding)
    assert "Expected a Content-Encoding of identity, gzip" in problem_of(answer, 415)["detail"]
    assert len(answer.json()["detail"]) < 200


@pytest.mark.parametrize("encoding", ["identity", " Identity ", ""])
def test_a_body_that_is_declared_not_to_be_packed_is_read(service: Service, encoding: str):
    assert service.post("/v1/sizing", GOOD, content_encoding=encoding).status_code == 200
