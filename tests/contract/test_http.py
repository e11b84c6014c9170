"""Methods, addresses, headers and lengths: what HTTP asks of the service, on refusals too."""

from __future__ import annotations

import json
from typing import Any

import pytest

from service.api.app import create_app
from service.api.settings import MOST_BODY_BYTES
from tests.contract.ask import (
    FIRST,
    JSON,
    OPERATIONS,
    POSTS,
    SIZING,
    Service,
    http_scope,
    problem_of,
)

GOOD = json.dumps(SIZING).encode()
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "QUERY", "BREW")

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

ODD_PATHS = (
    "/v1",
    "/v1/",
    "/V1/SIZING",
    "/v1/sizing/more",
    "/v1/sizing;x=1",
    "/v1/sizing%00",
    "/v1/sizing%0a",
    "/v1/sizing%20",
    "/v2/sizing",
    "/v1/%2e%2e/v1/sizing",
    "/%ff%fe",
    "/problems",
    "/problems/",
    "/problems/..%2f..%2fetc%2fpasswd",
    "/.well-known/nothing",
    "/favicon.ico",
    "/" + "x" * 60_000,
    "/💡",
    "/openapi.yaml",
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


@pytest.mark.parametrize("path", (*POSTS, *OPERATIONS))
def test_allow_lists_the_methods_that_work_and_no_other(service: Service, path: str):
    allow = service.ask("BREW", path).headers["allow"]
    body, headers = (FIRST[path], JSON) if path in POSTS else (None, None)
    works = {
        method
        for method in METHODS
        if service.ask(method, path, body, headers).status_code not in (405, 501)
    }
    assert {method.strip() for method in allow.split(",")} == works


@pytest.mark.parametrize("path", (*POSTS, *OPERATIONS))
@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "TRACE", "CONNECT", "BREW", "get"])
def test_a_method_that_is_not_allowed_is_refused_with_those_that_are(
    service: Service, path: str, method: str
):
    answer = service.messages(http_scope(method, path), [{"type": "http.request"}])
    status, headers, body = unpacked(answer)
    assert status == 405
    assert json.loads(body)["status"] == 405
    assert headers["allow"]
    assert headers["content-type"] == "application/problem+json"
    assert headers["gapwright-ruleset"] == "baseline@1.0.0"
    assert headers["gapwright-ruleset-digest"]


@pytest.mark.parametrize("path", OPERATIONS)
def test_head_is_answered_as_get_is_without_the_body(service: Service, path: str):
    got, head = service.ask("GET", path), service.ask("HEAD", path)
    assert head.status_code == got.status_code
    assert head.content == b""
    apart = {"x-request-id"}
    assert {k: v for k, v in head.headers.items() if k not in apart} == {
        k: v for k, v in got.headers.items() if k not in apart
    }


@pytest.mark.parametrize("path", POSTS)
def test_head_on_a_call_is_refused_without_a_body(service: Service, path: str):
    answer = service.ask("HEAD", path)
    assert (answer.status_code, answer.content) == (405, b"")
    assert "POST" in answer.headers["allow"]


@pytest.mark.parametrize("path", ODD_PATHS)
@pytest.mark.parametrize("method", ["GET", "POST", "OPTIONS"])
def test_an_address_that_is_none_is_refused(service: Service, path: str, method: str):
    problem_of(service.ask(method, path, GOOD, JSON), 404)


@pytest.mark.parametrize("name", ["another", "%00", "%ff", "%20", "<b>", "x" * 5000], ids=str)
def test_a_page_that_is_none_is_refused_in_few_words(service: Service, name: str):
    assert len(problem_of(service.ask("GET", f"/problems/{name}"), 404)["detail"]) < 500


@pytest.mark.parametrize("path", POSTS)
def test_a_trailing_slash_changes_nothing(service: Service, path: str):
    plain, slashed = service.post(path, FIRST[path]), service.post(f"{path}/", FIRST[path])
    assert (slashed.status_code, slashed.content) == (200, plain.content)


@pytest.mark.parametrize("path", ["//v1/sizing", "/v1//sizing", "/v1/./sizing", "/v1/sizing//"])
def test_a_path_that_is_not_normal_never_breaks_the_service(service: Service, path: str):
    scope = http_scope("POST", path, (b"content-type", b"application/json"))
    status, _, _ = unpacked(service.messages(scope, [{"type": "http.request", "body": GOOD}]))
    assert status in (200, 404)


@pytest.mark.parametrize("query", ["as_of=2020-01-01", "x", "units=metric&units=metric", "%ff"])
def test_query_parameters_are_refused_and_not_passed_over(service: Service, query: str):
    """A caller who asks for the rules of a day in the query must not get those of today."""
    answer = service.post(f"/v1/sizing?{query}", SIZING)
    problem_of(answer, answer.status_code)
    assert answer.status_code in (400, 422)


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


def test_a_body_of_the_greatest_length_is_taken_and_one_byte_more_is_not(service: Service):
    padded = GOOD + b" " * (MOST_BODY_BYTES - len(GOOD))
    assert service.post("/v1/sizing", padded).status_code == 200
    found = problem_of(service.post("/v1/sizing", padded + b" "), 413)
    assert str(MOST_BODY_BYTES) in found["detail"]


def test_a_body_in_pieces_without_a_length_is_read_no_further_than_the_limit(service: Service):
    piece = {"type": "http.request", "body": b" " * 100_000, "more_body": True}
    waiting = [dict(piece) for _ in range(1000)]
    scope = http_scope("POST", "/v1/sizing", (b"content-type", b"application/json"))
    status, headers, _ = unpacked(service.messages(scope, waiting))
    assert status == 413
    assert headers["content-type"] == "application/problem+json"


def test_a_body_in_pieces_is_put_together(service: Service):
    scope = http_scope("POST", "/v1/sizing", (b"content-type", b"application/json"))
    pieces: list[Any] = [
        {"type": "http.request", "body": bytes([byte]), "more_body": True} for byte in GOOD
    ]
    status, _, body = unpacked(service.messages(scope, [*pieces, {"type": "http.request"}]))
    assert status == 200
    assert body == service.post("/v1/sizing", GOOD).content


def test_a_caller_who_goes_away_breaks_nothing(service: Service):
    scope = http_scope("POST", "/v1/sizing", (b"content-type", b"application/json"))
    piece = {"type": "http.request", "body": GOOD[:9], "more_body": True}
    sent = service.messages(scope, [piece, {"type": "http.disconnect"}])
    assert all(message.get("status", 400) < 500 for message in sent)


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

    broken = Service(create_app(today=clockless))
    answer = broken.post("/v1/sizing", GOOD, x_request_id="job-42")
    broken.close()
    assert answer.status_code == 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-request-id"] == "job-42"
    assert answer.json()["type"] == "/problems/internal-error"
    assert "cause" not in answer.json()["detail"].removeprefix("The log has the cause")
    assert "ZeroDivision" not in answer.text


def unpacked(sent: list[dict[str, Any]]) -> tuple[int, dict[str, str], bytes]:
    """Return status, headers and body of what an application sent."""
    start = next(message for message in sent if message["type"] == "http.response.start")
    body = b"".join(message.get("body", b"") for message in sent[1:])
    headers = {name.decode(): value.decode("latin-1") for name, value in start["headers"]}
    assert len(headers) == len(start["headers"]), "a header stands twice"
    return start["status"], headers, body
