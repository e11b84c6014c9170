"""Many quotes in one call: a line in, a line out, whatever the others are."""

from __future__ import annotations

import asyncio
import json
import tracemalloc
from datetime import date
from typing import Any

import pytest
from gapwright.api import batch
from gapwright.api.app import create_app
from gapwright.api.batch import MOST_LINES, ClientGoneError, lines
from gapwright.api.settings import Settings

from tests.history import RULES as HISTORY

GOOD = {
    "ruleset": "baseline@1.2.0",
    "roof_covering": "asphalt_shingle",
    "racking": "rail_mounted",
    "clearance": {"readings": ["4 1/2 in"]},
    "stories": 1,
    "crew": 2,
    "planes": [{"arrays": [{"perimeter": "90 ft"}]}],
}
LINE = json.dumps(GOOD).encode()


@pytest.fixture(scope="module")
def app() -> Any:
    return create_app(Settings(rules=HISTORY), today=lambda: date(2026, 11, 25))


async def converse(app: Any, parts: list[bytes], kind: bytes = b"application/jsonl") -> list[Any]:
    """Return the messages that an application sends for a body in parts."""
    sent: list[Any] = []
    waiting = list(parts)

    async def receive() -> dict[str, Any]:
        if not waiting:
            await asyncio.Event().wait()  # as a server does until the caller has gone
        return {"type": "http.request", "body": waiting.pop(0), "more_body": bool(waiting)}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/v1/quote/batch",
        "raw_path": b"/v1/quote/batch",
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", b"x"), (b"content-type", kind)],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 2),
    }
    await app(scope, receive, send)
    return sent


def answers(app: Any, *parts: bytes) -> list[Any]:
    sent = asyncio.run(converse(app, list(parts)))
    assert sent[0]["status"] == 200
    body = b"".join(message.get("body", b"") for message in sent[1:])
    assert sent[-1]["more_body"] is False
    return [json.loads(line) for line in body.splitlines()]


def test_each_line_gets_its_own_answer_or_problem(app):
    told = answers(app, b"\n".join((LINE, b'{"planes": 3}', b"nonsense", LINE)))
    assert [line["line"] for line in told] == [1, 2, 3, 4]
    assert [line["status"] for line in told] == [200, 422, 400, 200]
    assert told[0]["answer"] == told[3]["answer"]
    assert told[0]["answer"]["result"]["price"]["total"]
    assert told[1]["problem"]["errors"][0]["pointer"] == "/planes"


def test_a_line_is_answered_as_the_single_call_answers_it(app):
    from tests.contract.ask import Service

    service = Service(app)
    alone = service.post("/v1/quote", GOOD).json()
    service.close()
    assert answers(app, LINE)[0]["answer"] == alone


@pytest.mark.parametrize("size", [1, 7, 64, 10_000])
def test_lines_do_not_depend_on_how_the_body_is_parted(app, size):
    body = b"\r\n".join((LINE, b"", b"{}", LINE))
    parts = [body[at : at + size] for at in range(0, len(body), size)]
    told = answers(app, *parts)
    assert [(line["line"], line["status"]) for line in told] == [(1, 200), (3, 422), (4, 200)]


def test_a_line_that_is_too_long_is_refused_and_the_next_one_answered():
    app = create_app(
        Settings(rules=HISTORY, most_body_bytes=2000), today=lambda: date(2026, 11, 25)
    )
    told = answers(app, b"[" * 1500, b"[" * 1500, b"[" * 3000 + b"\n" + LINE)
    assert [(line["line"], line["status"]) for line in told] == [(1, 413), (2, 200)]


def test_no_body_is_no_answer(app):
    assert answers(app, b"") == []


def test_another_kind_of_body_is_refused(app):
    sent = asyncio.run(converse(app, [LINE], b"application/json"))
    assert sent[0]["status"] == 415
    assert b"application/jsonl" in sent[1]["body"]


def test_when_the_caller_goes_nothing_more_is_answered(app):
    async def go() -> list[Any]:
        sent: list[Any] = []
        messages = [{"type": "http.request", "body": LINE + b"\n" + LINE, "more_body": True}]

        async def receive() -> Any:
            return messages.pop() if messages else {"type": "http.disconnect"}

        found = [number async for number, _ in until_closed(receive)]
        sent.extend(found)
        return sent

    async def until_closed(receive: Any) -> Any:
        try:
            async for found in lines(receive, 10_000):
                yield found
        except ClientGoneError:
            return

    assert asyncio.run(go()) in ([], [1]), "the second line was never ended"


def test_a_failure_while_the_body_is_read_is_not_waited_out():
    async def go() -> None:
        async def receive() -> Any:
            raise RuntimeError("the wire is cut")

        async for _ in lines(receive, 1000):
            pass

    with pytest.raises((RuntimeError, ClientGoneError)):
        asyncio.run(asyncio.wait_for(go(), timeout=5))


def test_lines_past_the_bound_are_told_once(app, monkeypatch):
    monkeypatch.setattr("gapwright.api.batch.MOST_LINES", 2)
    told = answers(app, b"{}\n{}\n{}\n{}")
    assert [line["status"] for line in told] == [422, 422, 413]
    assert MOST_LINES == 100_000


def test_memory_does_not_grow_with_the_lines(app):
    def peak(count: int) -> int:
        async def go() -> None:
            left = [count]

            async def receive() -> Any:
                left[0] -= 1
                return {"type": "http.request", "body": b"{}\n" * 50, "more_body": left[0] > 0}

            async for _ in lines(receive, 1000):
                pass

        tracemalloc.start()
        asyncio.run(go())
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return most

    peak(10)
    assert peak(2000) < 2 * peak(10)


def test_a_failure_in_one_line_leaves_the_others(app, monkeypatch):
    real, calls = batch.answer, []

    async def failing(*given: Any) -> Any:
        calls.append(1)
        if len(calls) == 1:
            raise RuntimeError("a fault of ours")
        return await real(*given)

    monkeypatch.setattr(batch, "answer", failing)
    told = answers(app, LINE + b"\n" + LINE)
    assert [line["status"] for line in told] == [500, 200]
    assert "a fault of ours" not in json.dumps(told)
