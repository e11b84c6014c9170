from __future__ import annotations

import asyncio
import json

from service.api.envelope import Imprint
from service.api.problems import ProblemError
from service.api.respond import answer, refusal, refused, replied, send_reply
from tests.unit.make import baseline


def sent(coroutine_of):
    messages = []

    async def send(message):
        messages.append(message)

    asyncio.run(coroutine_of(send))
    return messages


def test_an_answer_is_json_of_its_own_length_that_no_cache_keeps():
    start, body = sent(lambda send: send_reply(send, replied(b'{"a":1}', Imprint(baseline()))))
    headers = dict(start["headers"])
    assert start["status"] == 200
    assert headers[b"content-type"] == b"application/json"
    assert headers[b"content-length"] == b"7"
    assert headers[b"cache-control"] == b"no-store"
    assert headers[b"gapwright-ruleset"] == b"baseline@1.0.0"
    assert (body["body"], body["more_body"]) == (b'{"a":1}', False)


def test_a_refusal_names_the_rule_set_in_its_headers_and_in_its_body():
    error = ProblemError("unusable-request", "One thing is wrong with it.")
    error.under = Imprint(baseline())
    start, body = sent(lambda send: send_reply(send, refused(error)))
    headers = dict(start["headers"])
    document = json.loads(body["body"])
    assert start["status"] == document["status"] == error.kind.status
    assert type(start["status"]) is int  # it goes to the server and into the log as it is
    assert headers[b"content-type"] == b"application/problem+json"
    assert headers[b"gapwright-ruleset"] == b"baseline@1.0.0"
    assert headers[b"gapwright-ruleset-digest"].decode() == document["ruleset"]["digest"]


def test_a_refusal_without_a_rule_set_says_nothing_of_one():
    _, body = sent(lambda send: send_reply(send, refused(ProblemError("not-ready", "No rules."))))
    assert "ruleset" not in json.loads(body["body"])


def test_the_framework_sends_the_same_refusal():
    error = ProblemError("not-found", "See /docs.", headers=((b"allow", b"GET"),))
    _, body = sent(lambda send: send_reply(send, refused(error)))
    told = refusal(error)
    assert told.content == body["body"]
    assert told.status_code == 404
    assert told.headers["allow"] == "GET"
    assert told.headers["cache-control"] == "no-store"


def test_an_answer_through_the_framework_is_kept_by_no_cache_either():
    told = answer({"status": "alive"})
    assert (told.content, told.headers["cache-control"]) == (b'{"status":"alive"}', "no-store")
