"""`echo`: the request in full, which gets the same result when it is sent again."""

from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.quantity.kinds import Gap, Percentage, Position, WorkingDay
from hypothesis import given
from hypothesis import strategies as st

from tests.contract.ask import ENVELOPED, EXAMPLES, Service

SHOWN = [
    (path, name) for path in ENVELOPED if path != "/v1/rulesets/check" for name in EXAMPLES[path]
]


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_an_echoed_request_gets_the_same_result_again(service: Service, path: str, name: str):
    first = service.post(path, EXAMPLES[path][name] | {"echo": True}).json()
    again = service.post(path, first["request"]).json()
    assert again["result"] == first["result"]
    assert again["request"] == first["request"]


def test_it_has_the_defaults_the_version_and_the_date(service: Service):
    sent = {"perimeter": "90 1/3 ft", "strip_width": "8 in", "echo": True}
    assert service.post("/v1/materials", sent).json()["request"] == {
        "ruleset": "baseline@2.0.0",
        "as_of": "2026-12-01",
        "units": "imperial",
        "explain": False,
        "echo": True,
        "roof_covering": "unknown",
        "racking": "rail_mounted",
        "perimeter": "90 ft 4 in",
        "strip_width": "8 in",
        "penetrations": 0,
        "zones": {},
        "joining": "rings",
        "finish": "prepainted",
    }


def test_an_answer_has_no_request_without_it(service: Service):
    answer = service.post("/v1/materials", {"perimeter": "90 ft", "strip_width": "8 in"})
    assert "request" not in answer.json()


@given(st.integers(-900_000_000_000, 900_000_000_000))
def test_a_length_is_written_exactly(nm: int):
    assert Position.read(Position(nm).written()) == nm
    if 0 <= nm <= 3_000_000_000:
        assert Gap.read(Gap(nm).written()) == nm


@given(
    st.fractions(60, 1440, max_denominator=100),
    st.fractions(0, Fraction(1, 2), max_denominator=1000),
)
def test_a_time_and_a_share_are_written_exactly(minutes: Fraction, share: Fraction):
    assert WorkingDay.read(WorkingDay(minutes).written()) == minutes
    assert Percentage.read(Percentage(share).written()) == share
