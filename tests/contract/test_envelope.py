"""The envelope: whose rules, how an answer is proved later, and which cautions go with it."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.contract.ask import (
    CONTRACT,
    ENVELOPED,
    EXAMPLES,
    FIRST,
    POSTS,
    SIZING,
    Service,
    problem_of,
    value_at,
)
from tests.contract.formats import FORMATS

MEMBERS = ["ruleset", "engine", "result", "cautions", "trace", "receipt"]
SHOWN = [(path, name) for path in ENVELOPED for name in EXAMPLES[path]]
SEVERITIES = {"danger", "warning", "caution", "notice"}

READINGS = st.lists(FORMATS["clearance-reading"], min_size=1, max_size=6)
CLEARANCE = st.fixed_dictionaries({"readings": READINGS})
UNITS = st.fixed_dictionaries({}, optional={"units": st.sampled_from(("imperial", "metric"))})
QUICK = st.fixed_dictionaries(
    {"perimeter": FORMATS["perimeter"]},
    optional={
        "joining": st.sampled_from(("rings", "ties")),
        "painted": st.sampled_from(("prepainted", "spray")),
        "corners": st.none() | st.integers(0, 100_000) | st.integers(0, 9).map(float),
        "penetrations": st.integers(0, 100_000),
        "roll_length": st.none() | FORMATS["roll-length"],
    },
)
WIDTH = st.fixed_dictionaries({"strip_width": FORMATS["strip-width"]})
SITE = st.fixed_dictionaries(
    {}, optional={"active_nest": st.booleans(), "poor_roof": st.none() | st.booleans()}
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
def test_an_answer_has_the_members_of_the_envelope_in_their_order(
    service: Service, path: str, name: str
):
    answer = service.post(path, EXAMPLES[path][name]).json()
    assert list(answer) == MEMBERS
    assert list(answer["ruleset"]) == ["id", "version", "digest", "effective"]
    assert answer["engine"] == CONTRACT["info"]["version"]


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_headers_and_body_name_the_same_rule_set(service: Service, path: str, name: str):
    answer = service.post(path, EXAMPLES[path][name])
    ruleset = answer.json()["ruleset"]
    assert answer.headers["gapwright-ruleset"] == f"{ruleset['id']}@{ruleset['version']}"
    assert answer.headers["gapwright-ruleset-digest"] == ruleset["digest"]


@pytest.mark.parametrize("body", [b"{", b"{}", b'{"ruleset":"nobody"}'])
def test_a_refusal_names_a_rule_set_in_headers_and_body_alike(service: Service, body: bytes):
    answer = service.post("/v1/sizing", body)
    ruleset = answer.json()["ruleset"]
    assert answer.headers["gapwright-ruleset"] == f"{ruleset['id']}@{ruleset['version']}"
    assert answer.headers["gapwright-ruleset-digest"] == ruleset["digest"]


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_a_receipt_is_verified_from_the_request_and_the_answer_alone(
    service: Service, path: str, name: str
):
    request = EXAMPLES[path][name]
    answer = service.post(path, request).json()
    assert answer["receipt"] == {"request": digest(request), "result": digest(answer["result"])}


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
        for step in answer["trace"]:
            value_at(answer["result"], step["figure"])
            assert step["cites"]

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


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_an_answer_carries_cautions_and_each_names_its_source(
    service: Service, path: str, name: str
):
    cautions = service.post(path, EXAMPLES[path][name]).json()["cautions"]
    assert {"falls", "live_conductors", "wildlife", "local_code"} <= {c["id"] for c in cautions}
    assert len({caution["id"] for caution in cautions}) == len(cautions)
    for caution in cautions:
        assert caution["severity"] in SEVERITIES
        assert caution["text"].endswith(".")
        assert caution["source"]


def test_a_caution_with_a_condition_is_given_only_where_it_holds(service: Service):
    def cautions(painted: str) -> set[str]:
        request = {"perimeter": "90 ft", "strip_width": "8 in", "painted": painted}
        return {c["id"] for c in service.post("/v1/materials", request).json()["cautions"]}

    assert cautions("spray") - cautions("prepainted") == {"overspray"}


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_every_step_of_the_trace_leads_to_a_figure_of_the_result(
    service: Service, path: str, name: str
):
    answer = service.post(path, EXAMPLES[path][name]).json()
    for step in answer["trace"]:
        value_at(answer["result"], step["figure"])
    figures = [step["figure"] for step in answer["trace"]]
    assert len(set(figures)) == len(figures)


def test_the_day_decides_which_version_is_in_force(service: Service):
    def version(day: str | None) -> str:
        answer = service.post("/v1/sizing", SIZING | {"as_of": day})
        assert answer.status_code == 200, answer.text
        return answer.json()["ruleset"]["version"]

    assert version("2026-01-01") == "1.0.0"
    assert version("2026-05-31") == "1.0.0"
    assert version("2026-06-01") == "1.1.0"
    assert version(None) == "1.0.0"


@pytest.mark.parametrize("day", ["2025-12-31", "1900-01-01", "0001-01-01"])
def test_a_day_before_the_first_version_has_no_rules(service: Service, day: str):
    found = problem_of(service.post("/v1/sizing", SIZING | {"as_of": day}), 404)
    assert found["type"] == "/problems/no-such-ruleset"
    assert day in found["detail"]
    assert "2026-01-01" in found["detail"]


def test_a_version_that_is_named_is_taken(service: Service):
    answer = service.post("/v1/sizing", SIZING | {"ruleset": "baseline@1.1.0"})
    assert answer.json()["ruleset"]["version"] == "1.1.0"
    assert answer.headers["gapwright-ruleset"] == "baseline@1.1.0"


@pytest.mark.parametrize("near", ["baselin", "base-line", "Baseline", "baseline ", "basline@1.0.0"])
def test_a_rule_set_that_is_nearly_named_right_is_suggested(service: Service, near: str):
    found = problem_of(service.post("/v1/sizing", SIZING | {"ruleset": near}), 404)
    assert found["type"] == "/problems/no-such-ruleset"
    assert "Did you mean baseline?" in found["detail"]


@pytest.mark.parametrize("version", ["9.9.9", "1.0", "1.0.0.0", "01.0.0", "1.0.0-beta", "1.x"])
def test_a_version_that_there_is_not_is_told_with_those_there_are(service: Service, version: str):
    found = problem_of(service.post("/v1/sizing", SIZING | {"ruleset": f"baseline@{version}"}), 404)
    assert "1.0.0" in found["detail"]
    assert "1.1.0" in found["detail"]


@pytest.mark.parametrize("name", ["", "@", "baseline@", "@1.0.0", "baseline@1.0.0@", "base\nline"])
def test_a_name_that_is_none_is_refused_and_not_taken_for_the_default(service: Service, name: str):
    answer = service.post("/v1/sizing", SIZING | {"ruleset": name})
    problem_of(answer, answer.status_code)
    assert answer.status_code in (404, 422)


@pytest.mark.parametrize("hole", ["../baseline", "baseline/1.0.0", "/etc/passwd", "baseline\u0000"])
def test_a_name_never_leads_out_of_the_rules(service: Service, hole: str):
    answer = service.post("/v1/sizing", SIZING | {"ruleset": hole})
    problem_of(answer, answer.status_code)
    assert answer.status_code in (404, 422)


@pytest.mark.parametrize("path", ASKED)
def test_units_change_how_a_result_is_shown_and_not_what_is_ordered(service: Service, path: str):
    def lengths(value: Any) -> list[float]:
        if isinstance(value, list):
            return [nm for item in value for nm in lengths(item)]
        if not isinstance(value, dict):
            return []
        if {"value", "unit", "text"} <= value.keys():
            return [value["value"] * {"in": 25.4, "ft": 304.8, "mm": 1, "m": 1000}[value["unit"]]]
        return [nm for item in value.values() for nm in lengths(item)]

    request = {name: value for name, value in FIRST[path].items() if name != "units"}
    imperial = service.post(path, request | {"units": "imperial"}).json()
    metric = service.post(path, request | {"units": "metric"}).json()
    assert lengths(imperial["result"]) == pytest.approx(lengths(metric["result"]), abs=1e-3)
    assert imperial["trace"] == metric["trace"]
    assert imperial["cautions"] == metric["cautions"]
