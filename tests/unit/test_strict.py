from __future__ import annotations

import math
from datetime import date
from typing import Annotated, Literal

import msgspec
import pytest
from gapwright.errors import InvalidRequestError
from gapwright.quantity.kinds import Reading, decode
from gapwright.strict import convert, faults, unknown_name
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.measures import PROMPT, inches


class Gap(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    readings: Annotated[tuple[Reading, ...], msgspec.Meta(min_length=1, max_length=3)]
    note: Annotated[str, msgspec.Meta(min_length=1, max_length=5)] | None = None


class Range(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    below: str


Name = Annotated[str, msgspec.Meta(pattern="^[a-z]+$")]


class Job(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    clearance: Gap
    corners: Annotated[int, msgspec.Meta(ge=0, le=100)] = 4
    joining: Literal["rings", "ties"] = "rings"
    on: date | None = None
    sprayed: bool = False
    share: float = 0.0
    when: dict[Name, str | int | list[str] | Range] = {}


FINE = {"clearance": {"readings": ["4 1/2 in"]}}
FEWER = settings(PROMPT, max_examples=80)
JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-200, 200)
    | st.floats(allow_nan=False)
    | st.sampled_from(["4 in", "rings", "2026-01-31", "", "tie", "0 in", "x" * 10]),
    lambda part: (
        st.lists(part, max_size=4)
        | st.dictionaries(st.sampled_from([*Job.__struct_fields__, "readings", "below", "A"]), part)
    ),
    max_leaves=6,
)


class Named(msgspec.Struct, frozen=True, kw_only=True):
    edge: Annotated[str, msgspec.Meta(pattern="^[A-Z][0-9]$", examples=["A1", "B2"])] | None = None
    name: Name | None = None


def told(raw, kind=Job):
    return {fault.pointer: fault.detail for fault in faults(raw, kind)}


def fitting(raw):
    try:
        msgspec.convert(raw, Job, strict=True, dec_hook=decode)
    except (msgspec.ValidationError, ValueError):
        return False
    return True


def test_what_fits_is_converted_with_its_quantities_read():
    job = convert(FINE, Job)
    assert job.clearance.readings == (inches("4 1/2"),)
    assert faults(FINE, Job) == []


def test_every_fault_is_told_at_once_each_at_its_place():
    raw = {
        "clearance": {"readings": ["4 in", 4, "4"], "notes": "x"},
        "corners": -1,
        "joining": "ring",
        "on": "tomorrow",
        "sprayed": "no",
        "when": {"Covering": "tile", "racking": 1.5},
    }
    assert set(told(raw)) == {
        "/clearance/readings/1",
        "/clearance/readings/2",
        "/clearance/notes",
        "/corners",
        "/joining",
        "/on",
        "/sprayed",
        "/when/Covering",
        "/when/racking",
    }
    with pytest.raises(InvalidRequestError) as caught:
        convert(raw, Job)
    assert {fault.pointer for fault in caught.value.faults} == set(told(raw))


@pytest.mark.parametrize(
    ("raw", "pointer", "words"),
    [
        ({}, "/clearance", "missing"),
        ({"clearance": {}}, "/clearance/readings", "missing"),
        ({"clearance": {"readings": []}}, "/clearance/readings", "at least 1"),
        ({"clearance": {"readings": ["4 in"] * 4}}, "/clearance/readings", "at most 3"),
        ({"clearance": {"readings": "4 in"}}, "/clearance/readings", "a list"),
        ({"clearance": []}, "/clearance", "an object"),
        ({"clearance": None}, "/clearance", "null"),
        ({**FINE, "clearence": {}}, "/clearence", "Did you mean 'clearance'?"),
        ({**FINE, "corners": 101}, "/corners", "of at most 100"),
        ({**FINE, "corners": "4"}, "/corners", "whole number"),
        ({**FINE, "corners": True}, "/corners", "whole number"),
        ({**FINE, "corners": 4.5}, "/corners", "whole number"),
        ({**FINE, "joining": "ring"}, "/joining", "Did you mean 'rings'?"),
        ({**FINE, "joining": True}, "/joining", "rings, ties"),
        ({**FINE, "on": "2026-02-30"}, "/on", "a date"),
        ({**FINE, "on": 20260131}, "/on", "a date"),
        ({**FINE, "sprayed": 1}, "/sprayed", "true or false"),
        ({**FINE, "sprayed": None}, "/sprayed", "null"),
        ({**FINE, "when": {"a": {"below": 1}}}, "/when/a/below", "text"),
        ({**FINE, "when": {"a": {"from": "1 in"}}}, "/when/a/from", "below"),
        ({**FINE, "when": {"a": ["x", 1]}}, "/when/a/1", "text"),
        (
            {"clearance": {"readings": ["4 in"], "note": ""}},
            "/clearance/note",
            "at least 1 character",
        ),
        ([], "", "an object"),
        ("job", "", "an object"),
        (None, "", "null"),
    ],
)
def test_a_fault_says_what_was_found_or_what_to_write(raw, pointer, words):
    assert words in told(raw)[pointer]


def test_a_very_long_unknown_name_is_cut_in_what_is_said_and_told_by_what_holds_it():
    (found,) = faults({**FINE, "x" * 5_000: 1}, Job)
    assert found.pointer == ""
    assert "x" * 60 in found.detail
    assert len(found.detail) < 300


@FEWER
@given(JSON | st.dictionaries(st.sampled_from(Job.__struct_fields__), JSON))
def test_faults_are_told_exactly_where_something_does_not_fit(raw):
    assert (faults(raw, Job) == []) == fitting(raw)


@FEWER
@given(st.dictionaries(st.sampled_from(Job.__struct_fields__), JSON))
def test_every_place_that_is_told_is_in_the_value_or_missing_from_it(raw):
    for fault in faults(raw, Job):
        node = raw
        for step in fault.path[:-1]:
            node = node[step]
        last = fault.path[-1]
        assert (last in node) if isinstance(node, dict) and "missing" not in fault.problem else True
        assert fault.problem.endswith(".")


@pytest.mark.parametrize("number", [math.nan, math.inf, 10**400])
def test_a_number_beyond_measure_is_told_in_a_short_sentence(number):
    assert len(told({**FINE, "corners": number})["/corners"]) < 120


def test_no_fault_speaks_the_language_of_a_library():
    raw = {
        "clearance": {"readings": ["4 in"], "note": "too long"},
        "corners": 101,
        "when": {"A": 1},
    }
    for detail in told(raw).values():
        assert "`" not in detail
        assert "regex" not in detail
        assert "Object" not in detail
        assert "$" not in detail.replace("$.", "")


def test_a_value_with_thousands_of_faults_tells_the_first_hundred():
    assert len(faults(dict.fromkeys(map(str, range(5000)), 1), Job)) == 100


@pytest.mark.parametrize(
    ("name", "remedy"),
    [("clearence", "Did you mean 'clearance'?"), ("xyz", "Expected one of clearance, corners.")],
)
def test_an_unknown_name_is_met_with_the_nearest_one_or_with_all(name, remedy):
    assert unknown_name(name, ["clearance", "corners"]) == remedy


def test_text_that_must_follow_a_pattern_is_shown_by_its_examples():
    assert told({"edge": "a1", "name": "A"}, Named) == {
        "/edge": 'Expected text such as A1 or B2; got "a1".',
        "/name": ('Expected a name in lowercase letters, digits, and separators; got "A".'),
    }
    assert told({"edge": 1}, Named) == {
        "/edge": "Expected text such as A1 or B2; got the number 1."
    }
    assert told({"edge": "A1", "name": None}, Named) == {}
