"""JSON bodies that common libraries accept and this service refuses.

The standard library's json reads NaN and infinities, numbers too large for a double (as infinity),
names that stand twice (the last one wins), half of a surrogate pair, a byte order mark and UTF-16;
msgspec lets the last of two equal names win as well. Each test first shows that the library takes
the bytes, and then that the service does not: so the strictness has to be ours.

Sources: RFC 8259, "The JavaScript Object Notation (JSON) Data Interchange Format", December 2017,
sections 4 (names should be unique), 6 (no NaN or Infinity), 8.1 (UTF-8, no byte order mark); RFC
7493, "The I-JSON Message Format", March 2015, sections 2.1 (no lone surrogates) and 2.3 (names must
be unique). From memory. What the libraries do is computed here. There is no tolerance: a body is
read or refused.
"""

from __future__ import annotations

import asyncio
import codecs
import json
import math
from datetime import date

import httpx
import msgspec
import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings

from tests.history import RULES as HISTORY

FINE = '{"perimeter": "90 ft", "strip_width": "8 in", "corners": 4}'
NOT_NUMBERS = ["NaN", "Infinity", "-Infinity"]
REPEATED = {
    "the same value": '{"perimeter": "90 ft", "perimeter": "90 ft", "strip_width": "8 in"}',
    "another value": '{"perimeter": "90 ft", "perimeter": "80 ft", "strip_width": "8 in"}',
    "spelled with an escape": (
        r'{"perimeter": "90 ft", "\u0070erimeter": "80 ft", "strip_width": "8 in"}'
    ),
    "further in": (
        '{"perimeter": "90 ft", "clearance": {"readings": ["4 in"], "readings": ["5 in"]}}'
    ),
    "null the first time": '{"ruleset": null, "ruleset": null, "perimeter": "90 ft",'
    ' "strip_width": "8 in"}',
}


def test_the_body_that_the_others_are_made_from_is_accepted():
    assert post(FINE.encode()).status_code == 200


@pytest.mark.parametrize("word", NOT_NUMBERS)
def test_a_word_for_no_number_is_refused_though_the_standard_library_reads_it(word):
    body = FINE.replace("4", word)
    assert not math.isfinite(json.loads(body)["corners"])
    assert_refused(body.encode())


@pytest.mark.parametrize("number", ["1e400", "-1e400", "1" + "0" * 400 + ".0"])
def test_a_number_beyond_all_doubles_is_refused_though_the_standard_library_reads_infinity(number):
    body = FINE.replace("4", number)
    assert math.isinf(json.loads(body)["corners"])
    assert_refused(body.encode())


@pytest.mark.parametrize("body", REPEATED.values(), ids=REPEATED.keys())
def test_a_name_that_stands_twice_is_refused_though_libraries_let_the_last_one_win(body):
    assert json.loads(body) == msgspec.json.decode(body)
    assert "Duplicate field" in assert_refused(body.encode())["detail"]


def test_half_of_a_surrogate_pair_is_refused_though_the_standard_library_reads_it():
    body = FINE.replace("90 ft", r"\ud83d")
    assert json.loads(body)["perimeter"] == "\ud83d"
    assert_refused(body.encode())


@pytest.mark.parametrize(
    "body",
    [codecs.BOM_UTF8 + FINE.encode(), FINE.encode("utf-16"), FINE.encode("utf-32")],
    ids=["byte order mark", "UTF-16", "UTF-32"],
)
def test_another_encoding_is_refused_though_the_standard_library_guesses_it(body):
    assert json.loads(body) == json.loads(FINE)
    assert_refused(body)


def test_bytes_that_are_no_utf_8_are_refused_with_reasons_where_the_standard_library_raises():
    body = FINE.encode().replace(b"90 ft", b"90 \xff")
    with pytest.raises(UnicodeDecodeError):
        json.loads(body)
    assert_refused(body)


@pytest.mark.parametrize("depth", [2_000, 100_000])
@pytest.mark.parametrize(("opening", "closing"), [("[", "]"), ('{"a":', "}")])
def test_a_body_nested_too_deep_is_refused_where_msgspec_raises(depth, opening, closing):
    body = opening * depth + "1" + closing * depth
    with pytest.raises(RecursionError):
        msgspec.json.decode(body)
    assert_refused(body.encode())


@pytest.mark.parametrize(
    "junk", ["", " ", "{} {}", FINE + "x", "{'a': 1}", '{"a": 1,}', "// a\n{}"]
)
def test_what_is_no_json_is_refused_by_the_library_and_the_service_alike(junk):
    with pytest.raises(json.JSONDecodeError):
        json.loads(junk)
    assert_refused(junk.encode())


def assert_refused(body: bytes) -> dict[str, object]:
    """Assert that a body is refused as no strict JSON; return the problem document."""
    answer = post(body)
    assert answer.status_code == 400
    assert answer.headers["content-type"] == "application/problem+json"
    document = answer.json()
    assert document["detail"]
    return document


APP = create_app(Settings(rules=HISTORY), today=lambda: date(2026, 7, 1))


def post(body: bytes) -> httpx.Response:
    """Return the answer to a request for materials, sent to the service in this process."""

    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(app=APP)
        async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
            head = {"content-type": "application/json"}
            return await client.post("/v1/materials", content=body, headers=head)

    return asyncio.run(send())
