"""Methods, addresses, headers and lengths: what HTTP asks of the service, on refusals too."""

from __future__ import annotations

import gzip
import json
from typing import Any

import pytest
from gapwright.api.settings import MOST_BODY_BYTES

from tests.contract.ask import (
    FIRST,
    JSON,
    OPERATIONS,
    POSTS,
    SIZING,
    Service,
    http_scope,
    problem_of,
    unpacked,
)

GOOD = json.dumps(SIZING).encode()

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "QUERY", "BREW")

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


@pytest.mark.parametrize("path", [*POSTS, *OPERATIONS])
def test_allow_lists_the_methods_that_work_and_no_other(service: Service, path: str):
    allow = service.ask("BREW", path).headers["allow"]
    body, headers = (FIRST[path], JSON) if path in POSTS else (None, None)
    works = {
        method
        for method in METHODS
        if service.ask(method, path, body, headers).status_code not in (405, 501)
    }
    assert {method.strip() for method in allow.split(",")} == works


@pytest.mark.parametrize("path", [*POSTS, *OPERATIONS])
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
    assert "gapwright-ruleset" not in headers
    assert "gapwright-ruleset-digest" not in headers


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
    problem_of(answer, answer.status_code, "")
    assert answer.status_code in (400, 422)


def test_a_body_of_the_greatest_length_is_taken_and_one_byte_more_is_not(service: Service):
    padded = GOOD + b" " * (MOST_BODY_BYTES - len(GOOD))
    assert service.post("/v1/sizing", padded).status_code == 200
    found = problem_of(service.post("/v1/sizing", padded + b" "), 413)
    assert str(MOST_BODY_BYTES) in found["detail"]


@pytest.mark.parametrize("path", POSTS)
def test_every_call_refuses_a_body_that_is_too_large(service: Service, path: str):
    padded = json.dumps(FIRST[path]).encode() + b" " * MOST_BODY_BYTES
    assert problem_of(service.post(path, padded), 413)["type"] == "/problems/payload-too-large"


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
    status, _, body = unpacked(
        service.messages(scope, [*pieces, {"type": "http.request", "body": b""}])
    )
    assert status == 200
    assert body == service.post("/v1/sizing", GOOD).content


def test_a_caller_who_goes_away_breaks_nothing(service: Service):
    scope = http_scope("POST", "/v1/sizing", (b"content-type", b"application/json"))
    piece = {"type": "http.request", "body": GOOD[:9], "more_body": True}
    sent = service.messages(scope, [piece, {"type": "http.disconnect"}])
    assert all(message.get("status", 400) < 500 for message in sent)


@pytest.mark.parametrize("path", [*POSTS, *OPERATIONS, "/nothing"])
def test_a_websocket_is_closed_before_it_opens_and_nothing_fails(service: Service, path: str):
    scope = http_scope("GET", path) | {"type": "websocket", "scheme": "ws", "subprotocols": []}
    del scope["method"]
    (closed,) = service.messages(scope, [{"type": "websocket.connect"}])
    assert closed["type"] == "websocket.close"
    assert "Internal" not in closed["reason"]


@pytest.mark.parametrize("path", POSTS)
def test_a_body_in_an_unknown_encoding_is_refused_in_plain_words(service: Service, path: str):
    answer = service.post(path, GOOD, content_encoding="zstd")
    found = problem_of(answer, 415)
    assert found["type"] == "/problems/unsupported-media-type"
    assert found["detail"] == "Expected a Content-Encoding of identity, gzip; got zstd."
    assert answer.headers["accept-encoding"] == "identity, gzip"


@pytest.mark.parametrize("path", POSTS)
def test_a_gzip_body_gets_the_same_answer(service: Service, path: str):
    sent = json.dumps(FIRST[path]).encode()
    plain = service.post(path, sent)
    assert service.post(path, gzip.compress(sent), content_encoding="gzip").content == plain.content


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (gzip.compress(b" " * 50_000_000), 413),
        (gzip.compress(GOOD)[:-9], 400),
        (gzip.compress(GOOD) + b"x", 400),
        (GOOD, 400),
    ],
    ids=["50 MB of spaces", "cut short", "more after it", "not gzip"],
)
def test_a_gzip_body_that_is_too_large_or_broken_is_refused(
    service: Service, body: bytes, status: int
):
    problem_of(service.post("/v1/sizing", body, content_encoding="gzip"), status)


@pytest.mark.parametrize("encoding", ["gzip", "br"])
def test_an_answer_is_compressed_for_those_who_accept_it(service: Service, encoding: str):
    path = "/v1/quote"
    plain = service.post(path, FIRST[path], accept_encoding="identity")
    packed = service.post(path, FIRST[path], accept_encoding=encoding)
    assert "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == encoding
    assert "accept-encoding" in packed.headers["vary"].lower()
    assert int(packed.headers["content-length"]) < len(plain.content) / 3
    assert packed.json() == plain.json()
