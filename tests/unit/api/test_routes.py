from __future__ import annotations

import asyncio

import pytest

from service.api.problems import ProblemError
from service.api.routes import check_request, read_body


def scope(method="POST", declared=b"application/json"):
    headers = [] if declared is None else [(b"content-type", declared)]
    return {"type": "http", "method": method, "headers": headers}


def refused(asked):
    with pytest.raises(ProblemError) as caught:
        check_request(asked)
    return caught.value


def body(*messages, most=100):
    waiting = list(messages)

    async def receive():
        return waiting.pop(0)

    return asyncio.run(read_body(receive, most))


def part(content, more=True):
    return {"type": "http.request", "body": content, "more_body": more}


@pytest.mark.parametrize(
    "declared",
    [
        b"application/json",
        b"application/json; charset=utf-8",
        b"Application/JSON",
        b"application/json;charset=UTF-8",
        b" application/json ",
    ],
)
def test_json_may_be_declared_in_any_case_and_with_parameters(declared):
    check_request(scope(declared=declared))


@pytest.mark.parametrize(
    "declared",
    [
        None,
        b"",
        b"text/plain",
        b"application/jsonx",
        b"application/problem+json",
        b"application/x-www-form-urlencoded",
        b"\xff\xfe",
        b"x" * 10_000,
    ],
)
def test_a_body_that_is_not_declared_as_json_is_refused_in_few_words(declared):
    error = refused(scope(declared=declared))
    assert error.kind.status == 415
    assert len(error.detail) < 200


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_another_method_is_told_the_one_that_is_taken(method):
    error = refused(scope(method=method))
    assert error.kind.status == 405
    assert (b"allow", b"POST") in error.headers


def test_a_body_is_joined_from_its_parts():
    assert body(part(b"{"), part(b""), part(b"}", more=False)) == b"{}"


def test_a_server_may_leave_out_what_the_protocol_makes_optional():
    """ASGI: `body` is empty and `more_body` is false where they are left out."""
    assert body({"type": "http.request"}) == b""
    assert body(part(b"{}"), {"type": "http.request"}) == b"{}"


def test_a_body_of_the_greatest_size_is_read_and_one_byte_more_is_not():
    assert len(body(part(b"x" * 60), part(b"x" * 40, more=False))) == 100
    with pytest.raises(ProblemError) as caught:
        body(part(b"x" * 60), part(b"x" * 41))
    assert caught.value.kind.status == 413


def test_a_body_that_is_too_large_is_refused_before_its_end():
    with pytest.raises(ProblemError):
        body(part(b"x" * 101), part(b"never read"))


def test_a_connection_that_closes_early_is_no_request():
    with pytest.raises(ProblemError) as caught:
        body(part(b"{"), {"type": "http.disconnect"})
    assert caught.value.kind.status == 400


@pytest.mark.parametrize("encoding", [b"gzip", b"GZIP", b"br", b"identity, gzip", b"x" * 10_000])
def test_a_packed_body_is_refused_and_told_to_be_sent_as_it_is(encoding):
    asked = scope()
    asked["headers"].append((b"content-encoding", encoding))
    error = refused(asked)
    assert (error.kind.status, error.headers) == (415, ((b"accept-encoding", b"identity"),))
    assert "Send the body as it is" in error.detail
    assert len(error.detail) < 200


@pytest.mark.parametrize("encoding", [b"identity", b" Identity ", b""])
def test_a_body_that_is_declared_not_to_be_packed_is_read(encoding):
    asked = scope()
    asked["headers"].append((b"content-encoding", encoding))
    check_request(asked)
