"""The envelope: whose rules an answer follows, on which day, and which cautions go with it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.contract.ask import (
    CONTRACT,
    ENVELOPED,
    EXAMPLES,
    FIRST,
    POSTS,
    SIZING,
    Service,
    pointers,
    problem_of,
    value_at,
)

MEMBERS = ["ruleset", "engine", "as_of", "result", "cautions", "receipt"]

SHOWN = [(path, name) for path in ENVELOPED for name in EXAMPLES[path]]

EXPLAINED = [(path, name) for path, name in SHOWN if path != "/v1/rulesets/check"]

SEVERITIES = {"danger", "warning", "caution", "notice"}


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_an_answer_has_the_members_of_the_envelope_in_their_order(
    service: Service, path: str, name: str
):
    answer = service.shown(path, name).json()
    explained = ["explanation"] if EXAMPLES[path][name].get("explain") else []
    assert list(answer) == [*MEMBERS[:-1], *explained, MEMBERS[-1]]
    assert list(answer["ruleset"]) == ["id", "version", "digest", "effective"]
    assert answer["engine"] == CONTRACT["info"]["version"]


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_headers_and_body_name_the_same_rule_set(service: Service, path: str, name: str):
    answer = service.shown(path, name)
    ruleset = answer.json()["ruleset"]
    assert answer.headers["gapwright-ruleset"] == f"{ruleset['id']}@{ruleset['version']}"
    assert answer.headers["gapwright-ruleset-digest"] == ruleset["digest"]


@pytest.mark.parametrize(
    ("body", "named"),
    [
        (b"{}", "baseline@2.0.0"),
        (b'{"ruleset":"seacliff"}', "seacliff@2.0.0"),
        (b'{"ruleset":"seacliff@1.2.0","as_of":"2026-11-25"}', "seacliff@1.2.0"),
        (b'{"ruleset":"baseline","as_of":"2026-02-30"}', ""),
        (b'{"ruleset":"nobody"}', ""),
        (b'{"ruleset":1}', ""),
    ],
)
def test_an_invalid_request_names_the_rule_set_that_it_asked_for_and_no_other(
    service: Service, body: bytes, named: str
):
    problem_of(service.post("/v1/sizing", body), 422, named)


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_an_answer_carries_cautions_and_each_names_its_source(
    service: Service, path: str, name: str
):
    cautions = service.shown(path, name).json()["cautions"]
    assert {"falls", "live_conductors", "wildlife", "local_code"} <= {c["id"] for c in cautions}
    assert len({caution["id"] for caution in cautions}) == len(cautions)
    for caution in cautions:
        assert caution["severity"] in SEVERITIES
        assert caution["text"].endswith(".")
        assert caution["source"]


def test_a_caution_with_a_condition_is_given_only_where_it_holds(service: Service):
    def cautions(finish: str) -> set[str]:
        request = {"perimeter": "90 ft", "strip_width": "8 in", "finish": finish}
        return {c["id"] for c in service.post("/v1/materials", request).json()["cautions"]}

    assert cautions("spray") - cautions("prepainted") == {"overspray"}


@pytest.mark.parametrize(("path", "name"), EXPLAINED)
def test_an_explanation_tells_each_rule_once_and_leads_to_figures_of_the_result(
    service: Service, path: str, name: str
):
    plain = service.shown(path, name).json()
    explained = service.post(path, EXAMPLES[path][name] | {"explain": True}).json()
    told = explained.pop("explanation")
    for answer in (plain, explained):
        answer.pop("explanation", None)
        answer["receipt"].pop("request")
    assert explained == plain
    for figure in told["figures"]:
        value_at(plain["result"], figure["pointer"])
    assert told["figures"]
    assert {rule for figure in told["figures"] for rule in figure["rules"]} == set(told["rules"])
    for key, rule in told["rules"].items():
        assert set(rule) == {"value", "description", "source", "file", "line"}, key
        assert rule["line"] > 0


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("explain", ["true", 1, 0, None, [], {}])
def test_explain_is_a_boolean(service: Service, path: str, explain: Any):
    assert set(pointers(service.post(path, FIRST[path] | {"explain": explain}))) == {"/explain"}


def test_the_day_decides_which_version_is_in_force(service: Service):
    def version(day: str | None) -> str:
        answer = service.post("/v1/sizing", SIZING | {"as_of": day})
        assert answer.status_code == 200, answer.text
        return answer.json()["ruleset"]["version"]

    assert version("2026-01-01") == "1.0.0"
    assert version("2026-05-31") == "1.0.0"
    assert version("2026-06-01") == "1.1.0"
    assert version(None) == "2.0.0"


@pytest.mark.parametrize("day", ["2025-12-31", "1900-01-01", "0001-01-01"])
def test_a_day_before_the_first_version_has_no_rules(service: Service, day: str):
    found = problem_of(service.post("/v1/sizing", SIZING | {"as_of": day}), 404)
    assert found["type"] == "/problems/ruleset-not-found"
    assert day in found["detail"]
    assert "2026-01-01" in found["detail"]


def test_a_version_that_is_named_is_taken(service: Service):
    answer = service.post("/v1/sizing", SIZING | {"ruleset": "baseline@1.1.0"})
    assert answer.json()["ruleset"]["version"] == "1.1.0"
    assert answer.headers["gapwright-ruleset"] == "baseline@1.1.0"


@pytest.mark.parametrize("near", ["baselin", "base-line", "Baseline", "baseline ", "basline@1.0.0"])
def test_a_rule_set_that_is_nearly_named_right_is_suggested(service: Service, near: str):
    found = problem_of(service.post("/v1/sizing", SIZING | {"ruleset": near}), 404)
    assert found["type"] == "/problems/ruleset-not-found"
    assert "Did you mean 'baseline'?" in found["detail"]


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


@pytest.mark.parametrize("path", ["/v1/sizing", "/v1/materials", "/v1/suitability"])
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
    assert imperial["cautions"] == metric["cautions"]
