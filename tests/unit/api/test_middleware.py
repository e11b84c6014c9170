from __future__ import annotations

import asyncio

from gapwright.api.middleware import RequestLog
from structlog.contextvars import merge_contextvars
from structlog.testing import capture_logs

HEAD = {"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/plain")]}
BODY = {"type": "http.response.body", "body": b"done", "more_body": False}


def scope(*headers, method="GET", kind="http", path="/livez"):
    return {"type": kind, "method": method, "path": path, "headers": list(headers)}


def served(app, asked=None):
    """Return what a logged application sends, and what is logged of it."""
    sent = []

    async def receive():
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message):
        sent.append(dict(message))

    with capture_logs([merge_contextvars]) as logged:
        asyncio.run(RequestLog(app)(asked or scope(), receive, send))
    return sent, logged


async def answers(_scope, _receive, send):
    await send({**HEAD, "headers": [*HEAD["headers"], (b"gapwright-ruleset", b"acme@2.0.0")]})
    await send(dict(BODY))


def test_a_request_is_one_event_with_its_status_and_rule_set_and_without_its_body():
    _, logged = served(answers, scope((b"authorization", b"secret"), method="POST", path="/v1/x"))
    (event,) = logged
    assert (event["event"], event["method"], event["path"]) == ("request", "POST", "/v1/x")
    assert (event["status"], event["ruleset"]) == (200, "acme@2.0.0")
    assert event["ms"] >= 0
    assert "secret" not in str(event)
    assert "done" not in str(event)


def test_a_failure_in_the_middle_of_an_answer_sends_no_second_one():
    async def breaks(_scope, _receive, send):
        await send(dict(HEAD))
        raise RuntimeError("the roof is wet")

    sent, logged = served(breaks)
    assert [message["type"] for message in sent] == ["http.response.start"]
    assert "request failed" in [event["event"] for event in logged]


def test_a_long_path_is_cut_in_the_log():
    _, logged = served(answers, scope(path="/" + "x" * 5000))
    assert len(logged[-1]["path"]) <= 200


def test_what_is_not_http_passes_untouched():
    seen = []

    async def app(asked, _receive, send):
        seen.append(asked["type"])
        await send({"type": "lifespan.startup.complete"})

    sent, logged = served(app, scope(kind="lifespan"))
    assert seen == ["lifespan"]
    assert sent == [{"type": "lifespan.startup.complete"}]
    assert logged == []
