"""Refusals as problem documents, and the pointers in them.

Sources: RFC 9457, "Problem Details for HTTP APIs", July 2023: the media type (section 3), the
members and their JSON types (3.1), one status in the document and in the answer (3.1.2), a type
that is a full path or an absolute URI (3.1.1) and leads to HTML (4), a title that stays the same
for a type (3.1.3), names of further members (4). RFC 6901, "JavaScript Object Notation (JSON)
Pointer", April 2013: escaping (section 3), evaluation (4), and the table of section 5 in full. RFC
9110, section 15.5.6: a 405 names the methods that are allowed. Read in secondary copies. There is
no number here that could be rounded.
"""

from __future__ import annotations

import asyncio
import json
import re
from datetime import date

import httpx
import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.errors import Fault
from hypothesis import given
from hypothesis import strategies as st

POINTED = {
    "foo": ["bar", "baz"],
    "": 0,
    "a/b": 1,
    "c%d": 2,
    "e^f": 3,
    "g|h": 4,
    "i\\j": 5,
    'k"l': 6,
    " ": 7,
    "m~n": 8,
}
"""The document of RFC 6901, section 5."""

POINTERS = [
    ("", (), POINTED),
    ("/foo", ("foo",), ["bar", "baz"]),
    ("/foo/0", ("foo", 0), "bar"),
    ("/", ("",), 0),
    ("/a~1b", ("a/b",), 1),
    ("/c%d", ("c%d",), 2),
    ("/e^f", ("e^f",), 3),
    ("/g|h", ("g|h",), 4),
    ("/i\\j", ("i\\j",), 5),
    ('/k"l', ('k"l',), 6),
    ("/ ", (" ",), 7),
    ("/m~0n", ("m~n",), 8),
]
"""The table of section 5: the pointer, the path to the value, and the value."""

JSON = {"content-type": "application/json"}
MOST_BYTES = 5000
REFUSED = {
    "no JSON": ("POST", "/v1/sizing", JSON, b"{"),
    "not UTF-8": ("POST", "/v1/sizing", JSON, b'{"clearance": "\xff"}'),
    "many faults": ("POST", "/v1/materials", JSON, b'{"perimeter": "x", "corners": -1, "q": 0}'),
    "no such rule set": (
        "POST",
        "/v1/sizing",
        JSON,
        b'{"ruleset": "nobody", "clearance": {"readings": ["4 in"]}}',
    ),
    "text for JSON": ("POST", "/v1/sizing", {"content-type": "text/plain"}, b"{}"),
    "too large": ("POST", "/v1/sizing", JSON, b" " * (MOST_BYTES + 1)),
    "wrong method on a call": ("GET", "/v1/sizing", {}, b""),
    "wrong method on a page": ("DELETE", "/livez", {}, b""),
    "no such place": ("GET", "/v1/nothing", {}, b""),
    "no such problem": ("GET", "/problems/nothing", {}, b""),
}
refused = pytest.mark.parametrize("request_", REFUSED.values(), ids=REFUSED.keys())


@refused
def test_a_refusal_has_the_media_type_and_members_of_the_standard(request_):
    answer = send(*request_)
    assert answer.headers["content-type"].split(";")[0] == "application/problem+json"
    document = answer.json()
    assert isinstance(document["type"], str)
    assert isinstance(document["title"], str)
    assert isinstance(document["detail"], str)
    assert isinstance(document.get("instance", ""), str)
    assert document["title"]
    assert document["detail"]


@refused
def test_the_document_has_the_status_of_the_answer(request_):
    answer = send(*request_)
    assert 400 <= answer.status_code < 500
    assert type(answer.json()["status"]) is int
    assert answer.json()["status"] == answer.status_code


@refused
def test_the_type_is_a_full_path_or_an_absolute_uri_and_leads_to_a_page(request_):
    kind = send(*request_).json()["type"]
    assert re.match(r"/[^/]|[a-z]+://", kind)
    page = send("GET", kind, {}, b"")
    assert page.status_code == 200
    assert page.headers["content-type"].startswith("text/html")


@refused
def test_further_members_have_names_that_other_formats_can_write(request_):
    members = send(*request_).json().keys() - {"type", "title", "status", "detail", "instance"}
    assert all(re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{2,}", member) for member in members)


def test_a_type_has_one_title_whatever_happened():
    titles: dict[str, set[str]] = {}
    for request_ in REFUSED.values():
        document = send(*request_).json()
        titles.setdefault(document["type"], set()).add(document["title"])
    assert len(titles) >= 6
    assert all(len(of_a_type) == 1 for of_a_type in titles.values())


@pytest.mark.parametrize(
    ("method", "path", "allowed"), [("GET", "/v1/sizing", "POST"), ("DELETE", "/livez", "GET")]
)
def test_a_wrong_method_is_answered_with_those_that_are_allowed(method, path, allowed):
    answer = send(method, path, {}, b"")
    assert answer.status_code == 405
    assert allowed in [name.strip() for name in answer.headers["allow"].split(",")]


@pytest.mark.parametrize(("pointer", "path", "value"), POINTERS)
def test_a_fault_points_as_in_the_table_of_the_standard(pointer, path, value):
    assert Fault(path=path, problem="-").pointer == pointer
    assert evaluate(pointer, POINTED) == value


def test_the_document_of_the_standard_sent_as_a_request_is_refused_at_its_own_pointers():
    answer = send("POST", "/v1/sizing", JSON, json.dumps(POINTED).encode())
    found = [error["pointer"] for error in answer.json()["errors"]]
    members = [pointer for pointer, path, _ in POINTERS if len(path) == 1]
    assert sorted(found) == sorted([*members, "/clearance"])


@given(st.lists(st.text(max_size=8) | st.text("~/01", max_size=6) | st.integers(0, 99), max_size=6))
def test_a_pointer_leads_back_to_the_place_that_it_was_made_for(path):
    document: object = "the place"
    for step in reversed(path):
        document = {step: document} if isinstance(step, str) else [*([None] * step), document]
    assert evaluate(Fault(path=tuple(path), problem="-").pointer, document) == "the place"


def evaluate(pointer: str, document: object) -> object:
    """Return the value that a pointer leads to, by sections 3 and 4 of RFC 6901."""
    assert re.fullmatch(r"(/([^/~]|~[01])*)*", pointer)
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        document = document[int(name)] if isinstance(document, list) else document[name]
    return document


APP = create_app(Settings(most_body_bytes=MOST_BYTES), today=lambda: date(2026, 7, 1))


def send(method: str, path: str, headers: dict[str, str], body: bytes) -> httpx.Response:
    """Return the answer of the service in this process."""

    async def exchange() -> httpx.Response:
        transport = httpx.ASGITransport(app=APP)
        async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
            return await client.request(method, path, content=body, headers=headers)

    return asyncio.run(exchange())
