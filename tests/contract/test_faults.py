"""Requests that cannot be used: every fault at once, each at its place, and nothing else blamed."""

from __future__ import annotations

from typing import Any

import pytest

from tests.contract.ask import SIZING, Service, pointers, problem_of, value_at

MATERIALS: dict[str, Any] = {
    "perimeter": "90 ft",
    "strip_width": "8 in",
    "corners": 4,
    "penetrations": 1,
    "roll_length": "100 ft",
    "units": "metric",
    "ruleset": "baseline",
    "as_of": "2026-12-01",
    "zones": {"exposed": "30 ft"},
}
"""A request with every kind of member, of which the tests below spoil one or several."""

WRONG_TYPES = {
    "perimeter": (90, 90.5, True, None, [], {}, ["90 ft"]),
    "strip_width": (8, True, [], {}),
    "corners": ("4", "4.0", True, False, 4.5, -1, 100_001, 10**30, [], {}, [4]),
    "penetrations": ("1", True, None, 0.5, [], {}),
    "roll_length": (100, False, [], {}),
    "units": ("Metric", "mm", 1, True, [], {}),
    "joining": ("glue", None, True, 0),
    "finish": ("black", None, True, 0),
    "ruleset": (1, True, [], {}, "x" * 81),
    "as_of": (20260201, "2026-02-30", "2026-2-1", "20260201", "2026-02-01T00:00:00Z", "", [], True),
    "zones": (1, "exposed", [], None, True, {f"z{n}": "1 ft" for n in range(11)}),
    "clearance": (4, "4 1/2 in", [], ["4 1/2 in"], True),
}

NO_QUANTITIES = (
    "",
    " ",
    "90",
    "ft",
    "-90 ft",
    "−90 ft",
    "0 ft",
    "0/1 ft",
    "1/0 ft",
    "90 lb",
    "90 furlongs",
    "1e2 ft",
    "NaN ft",
    "Infinity ft",
    "∞ ft",
    "1,5 m",
    "1'000 m",
    "90 ft 13 in",
    "3 in 4 ft",
    "90 ft 90 ft",
    "9**9 ft",
    "9*10 ft",
    "(90) ft",
    "90 ft + 1 ft",
    "٩٠ ft",
    "９０ ft",
    "90 ft\u0000",
    "90\u200bft",
    "90 ft;",
    "${90} ft",
    "21000 ft",
    "1 in",
    "1" * 41 + " ft",
)


@pytest.mark.parametrize(
    ("member", "wrong"),
    [(member, wrong) for member, values in WRONG_TYPES.items() for wrong in values],
    ids=str,
)
def test_a_member_of_the_wrong_type_is_blamed_and_no_other(
    service: Service, member: str, wrong: Any
):
    request = MATERIALS | {member: wrong}
    if member == "clearance":
        del request["strip_width"]
    named = "" if member in ("ruleset", "as_of") else None
    assert set(pointers(service.post("/v1/materials", request), named)) == {f"/{member}"}


@pytest.mark.parametrize("text", NO_QUANTITIES)
def test_a_text_that_is_no_length_is_refused_at_its_place(service: Service, text: str):
    told = pointers(service.post("/v1/materials", MATERIALS | {"perimeter": text}))
    assert set(told) == {"/perimeter"}
    assert "such as 90 ft" in told["/perimeter"]


@pytest.mark.parametrize("wrong", [4.5, "4.5 lb", "40 ft", None, {}, ["4 in"], True, "4 1/2"])
def test_a_reading_is_blamed_by_its_position(service: Service, wrong: Any):
    request = {"clearance": {"readings": ["4 in", wrong, "5 in", wrong]}}
    told = pointers(service.post("/v1/sizing", request))
    assert set(told) == {"/clearance/readings/1", "/clearance/readings/3"}


@pytest.mark.parametrize("wrong", [1, 0, "true", "", [], {}])
def test_a_flag_is_true_or_false_and_not_one_or_zero(service: Service, wrong: Any):
    told = pointers(service.post("/v1/suitability", {"site": {"active_nest": wrong}}))
    assert set(told) == {"/site/active_nest"}


def test_a_count_may_be_written_with_a_point(service: Service):
    """To JSON Schema and to RFC 8785, 4.0 is the whole number 4."""
    whole = service.post("/v1/materials", MATERIALS)
    point = service.post("/v1/materials", MATERIALS | {"corners": 4.0})
    assert point.status_code == 200, point.text
    assert point.content == whole.content


def test_what_is_right_is_answered(service: Service):
    assert service.post("/v1/materials", MATERIALS).status_code == 200


def test_every_fault_of_a_body_is_told_at_once_and_nothing_else_is_blamed(service: Service):
    request = MATERIALS | {
        "perimeter": 90,
        "clearence": {"readings": ["4 in"]},
        "corners": "4",
        "joining": "glue",
        "as_of": "tomorrow",
        "zones": {"exposed": "30", "visible": "10 ft"},
    }
    told = pointers(service.post("/v1/materials", request), "")
    assert set(told) == {
        "/perimeter",
        "/clearence",
        "/corners",
        "/joining",
        "/as_of",
        "/zones/exposed",
    }
    assert "clearance" in told["/clearence"]
    assert "rings, ties" in told["/joining"]


def test_faults_inside_and_beside_an_object_are_told_together(service: Service):
    request = {
        "colour": 1,
        "clearance": {"readings": ["4 in", 4, "4 lb"], "unit": "in"},
        "units": "yards",
    }
    assert set(pointers(service.post("/v1/sizing", request))) == {
        "/colour",
        "/clearance/readings/1",
        "/clearance/readings/2",
        "/clearance/unit",
        "/units",
    }


def test_a_clearance_that_is_missing_is_told_beside_the_other_faults(service: Service):
    told = pointers(service.post("/v1/materials", {"perimeter": "ninety"}))
    assert set(told) == {"/perimeter", "/clearance"}


def test_a_clearance_beside_a_strip_width_is_told_beside_the_other_faults(service: Service):
    request = MATERIALS | SIZING | {"corners": "4"}
    assert set(pointers(service.post("/v1/materials", request))) == {"/strip_width", "/corners"}


def test_what_only_the_rule_set_can_tell_is_told_at_once_too(service: Service):
    zones = {"attic": "3 ft", "exposd": "3 ft"}
    request = MATERIALS | {"units": "imperial", "roll_length": "60 ft", "zones": zones}
    answer = service.post("/v1/materials", request)
    told = pointers(answer)
    assert set(told) == {"/roll_length", "/zones/attic", "/zones/exposd"}
    assert "50 ft" in told["/roll_length"]
    assert "Did you mean 'exposed'?" in told["/zones/exposd"]


def test_zones_longer_than_the_perimeter_are_refused(service: Service):
    request = MATERIALS | {"zones": {"exposed": "60 ft", "visible": "30 1/64 ft"}}
    assert set(pointers(service.post("/v1/materials", request))) == {"/zones"}


@pytest.mark.parametrize("missing", ["perimeter", "strip_width"])
def test_a_missing_member_is_told_with_what_to_write(service: Service, missing: str):
    request = {name: value for name, value in MATERIALS.items() if name != missing}
    told = pointers(service.post("/v1/materials", request))
    place = {"perimeter": "/perimeter", "strip_width": "/clearance"}[missing]
    assert set(told) == {place}
    assert "missing" in told[place]


def test_pointers_spell_out_slash_and_tilde(service: Service):
    request = {"a/b": 1, "m~n": 1, "": 1, "~1": 1, "ü": 1, " ": 1, **SIZING}
    told = pointers(service.post("/v1/sizing", request))
    assert set(told) == {"/a~1b", "/m~0n", "/", "/~01", "/ü", "/ "}
    for pointer in told:
        assert value_at(request, pointer) == 1


def test_an_empty_list_of_readings_is_refused(service: Service):
    told = pointers(service.post("/v1/sizing", {"clearance": {"readings": []}}))
    assert set(told) == {"/clearance/readings"}


def test_a_thousand_readings_are_taken_and_one_more_is_not(service: Service):
    def request(count: int) -> Any:
        return {"clearance": {"readings": ["4 in"] * count}}

    assert service.post("/v1/sizing", request(1000)).status_code == 200
    assert set(pointers(service.post("/v1/sizing", request(1001)))) == {"/clearance/readings"}


def test_where_only_the_first_faults_are_listed_the_refusal_says_so(service: Service):
    request = {"clearance": {"readings": ["four"] * 1000}}
    found = problem_of(service.post("/v1/sizing", request), 422)
    assert len(found["errors"]) < 1000
    assert "first" in found["detail"]


def test_a_detail_is_whole_sentences(service: Service):
    request = MATERIALS | {name: values[0] for name, values in WRONG_TYPES.items()} | {"x": 1}
    for detail in pointers(service.post("/v1/materials", request), "").values():
        assert detail.endswith((".", "?"))
        assert "Write ." not in detail
        assert "`" not in detail
