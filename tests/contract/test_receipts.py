"""Receipts: an answer is proved later from the request and the answer alone."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.contract.ask import ENVELOPED, EXAMPLES, FIRST, POSTS, SIZING, Service
from tests.contract.formats import FORMATS

SHOWN = [(path, name) for path in ENVELOPED for name in EXAMPLES[path]]

READINGS = st.lists(FORMATS["clearance-reading"], min_size=1, max_size=6)

CLEARANCE = st.fixed_dictionaries({"readings": READINGS})

UNITS = st.fixed_dictionaries({}, optional={"units": st.sampled_from(("imperial", "metric"))})

QUICK = st.fixed_dictionaries(
    {"perimeter": FORMATS["perimeter"]},
    optional={
        "joining": st.sampled_from(("rings", "ties")),
        "finish": st.sampled_from(("prepainted", "spray")),
        "corners": st.none() | st.integers(0, 100_000) | st.integers(0, 9).map(float),
        "penetrations": st.integers(0, 100_000),
        "roll_length": st.none() | FORMATS["roll-length"],
    },
)

WIDTH = st.fixed_dictionaries({"strip_width": FORMATS["strip-width"]})

SITE = st.fixed_dictionaries(
    {}, optional={"active_nest": st.booleans(), "poor_roof_condition": st.none() | st.booleans()}
)

ASKED: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "/v1/sizing": st.builds(dict.__or__, st.fixed_dictionaries({"clearance": CLEARANCE}), UNITS),
    "/v1/materials": st.builds(
        lambda *parts: {name: value for part in parts for name, value in part.items()},
        QUICK,
        WIDTH | st.fixed_dictionaries({"clearance": CLEARANCE}),
        UNITS,
    ),
    "/v1/suitability": st.builds(
        dict.__or__,
        st.fixed_dictionaries({}, optional={"clearance": CLEARANCE, "site": SITE}),
        UNITS,
    ),
}
"""Valid requests, in all the notations of a tape."""


def digest(value: Any) -> str:
    """Return the digest of a value in canonical form (RFC 8785), by another library's hand."""
    return "sha256:" + hashlib.sha256(rfc8785.dumps(value)).hexdigest()


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_a_receipt_is_verified_from_the_request_and_the_answer_alone(
    service: Service, path: str, name: str
):
    answer = service.shown(path, name).json()
    asked, told = digest(EXAMPLES[path][name]), digest(answer["result"])
    assert answer["receipt"] == {"request": asked, "result": told}


@pytest.mark.parametrize("path", ASKED)
def test_the_receipt_of_any_request_is_verified(service: Service, path: str):
    @settings(max_examples=60, derandomize=True, deadline=None, database=None)
    @given(ASKED[path])
    def check(request: dict[str, Any]) -> None:
        response = service.post(path, request)
        assert response.status_code == 200, response.text
        answer = response.json()
        sent = json.loads(json.dumps(request))
        assert answer["receipt"] == {"request": digest(sent), "result": digest(answer["result"])}

    check()


@pytest.mark.parametrize("path", POSTS)
def test_the_order_of_members_does_not_change_the_answer(service: Service, path: str):
    def turned(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: turned(value[name]) for name in reversed(value)}
        return value

    request = {"units": "metric", "as_of": None} | FIRST[path]
    plain, other = json.dumps(request), json.dumps(turned(request))
    assert plain != other
    assert service.post(path, other.encode()).content == service.post(path, plain.encode()).content


def test_another_request_has_another_receipt(service: Service):
    one = service.post("/v1/sizing", SIZING).json()
    same_length = service.post("/v1/sizing", {"clearance": {"readings": ["4.5 in"]}}).json()
    longer = service.post("/v1/sizing", {"clearance": {"readings": ["5 in"]}}).json()
    assert one["receipt"]["request"] != same_length["receipt"]["request"]
    assert one["receipt"]["result"] == same_length["receipt"]["result"]
    assert one["receipt"]["result"] != longer["receipt"]["result"]


@pytest.mark.parametrize("text", ["4 1/2″", "4½ in", "4\u00a01/2\u2009in", "4 1/2\u001fin"])
def test_the_receipt_of_a_text_beyond_ascii_is_verified(service: Service, text: str):
    request = {"clearance": {"readings": [text]}}
    assert service.post("/v1/sizing", request).json()["receipt"]["request"] == digest(request)


@pytest.mark.parametrize("path", POSTS)
def test_the_same_request_has_the_same_answer_byte_for_byte(service: Service, path: str):
    first = service.post(path, FIRST[path])
    again = Service()
    assert again.post(path, FIRST[path]).content == first.content
    again.close()
