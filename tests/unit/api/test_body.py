from __future__ import annotations

import json

import pytest
import rfc8785
from gapwright.api.body import parse_json, read_typed
from gapwright.api.problems import ProblemError
from gapwright.calls.layout import LayoutRequest
from gapwright.calls.materials import MaterialsRequest
from gapwright.calls.sizing import SizingRequest
from gapwright.calls.suitability import SuitabilityRequest
from gapwright.errors import InvalidRequestError
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, PROMPT, STEADY, inches

GAP = {"clearance": {"readings": ["4 1/2 in"]}}
FINE = {"perimeter": "90 ft", "strip_width": "8 in"}


def read(kind, raw):
    return read_typed(kind, raw if isinstance(raw, bytes) else json.dumps(raw).encode())


def told(kind, raw):
    with pytest.raises(InvalidRequestError) as caught:
        read(kind, raw)
    return {fault.pointer: fault.detail for fault in caught.value.faults}


def malformed(raw):
    with pytest.raises(ProblemError) as caught:
        read(MaterialsRequest, raw)
    assert caught.value.kind.name == "invalid-json"
    return caught.value.detail


def test_a_body_is_read_with_its_quantities_and_kept_in_canonical_form():
    form, told = read(MaterialsRequest, FINE)
    assert (form.perimeter, form.strip_width) == (90 * FT, inches("8"))
    assert told == rfc8785.dumps(FINE)


@pytest.mark.parametrize(
    "body",
    [
        b'{"strip_width": "8.5 in",\n "perimeter": "90 ft"}',
        b'{"perimeter": "90 ft", "strip_width": "8\\u0020in"}',
        '{"perimeter": "90 ft", "strip_width": "8½ in"}'.encode(),
        b'{"perimeter": "90 ft", "strip_width": "8 in", "corners": 4.0}',
        b'{"perimeter": "90 ft", "strip_width": "8 in", "corners": 4e0, "penetrations": -0}',
    ],
)
def test_the_canonical_form_is_that_of_the_reference_library_however_it_was_sent(body):
    _, told = read(MaterialsRequest, body)
    assert told == rfc8785.dumps(json.loads(body))


def test_what_is_left_out_has_the_values_that_the_contract_states():
    form, _ = read(MaterialsRequest, FINE)
    assert (form.joining, form.finish, form.corners, form.penetrations) == (
        "rings",
        "prepainted",
        None,
        0,
    )
    form, _ = read(SuitabilityRequest, b"{}")
    assert (form.roof_covering, form.racking, form.clearance) == ("unknown", "unknown", None)


def test_a_layout_without_arrays_is_told_of_them_beside_what_else_is_wrong():
    missing = "This required field is missing. Give either array or planes."
    assert told(LayoutRequest, {"arry": {}, "clearance": {"readings": ["4"]}}) == {
        "/arry": "Unknown field 'arry'. Did you mean 'array'?",
        "/clearance/readings/0": '"4" has no unit. Expected a number and a unit, such as 4 1/2 in.',
        "/array": missing,
    }
    both = {"array": {}, "planes": [{"array": {}}], "units": "feet"}
    assert told(LayoutRequest, both)["/planes"].startswith("Both array and planes are given.")


@pytest.mark.parametrize(
    ("told_of", "pointer", "example"),
    [
        ({"sides": [{"side": "a-eave"}]}, "/sides/0/side", "A-eave"),
        ({"sides": [{"side": "A-eave\n"}]}, "/sides/0/side", "A-eave"),
        ({"planes": [{"array": {}, "name": "Süd"}]}, "/planes/0/name", "South"),
        ({"planes": [{"array": {}, "name": "South\n"}]}, "/planes/0/name", "South"),
    ],
)
def test_names_that_cannot_be_used_are_refused_with_such_as_can(told_of, pointer, example):
    assert (
        f"Expected text such as {example} or " in told(LayoutRequest, {**GAP, **told_of})[pointer]
    )


@pytest.mark.parametrize(
    ("raw", "pointer"),
    [
        ({"perimeter": "90 ft"}, "/clearance"),
        ({**FINE, "clearance": {"readings": ["4 in"]}}, "/strip_width"),
        ({"perimeter": "90 ft", "clearance": None, "strip_width": None}, "/clearance"),
    ],
)
def test_a_clearance_or_a_strip_width_is_given_and_never_both(raw, pointer):
    assert "Give exactly one of" in told(MaterialsRequest, raw)[pointer]


def test_a_very_long_member_name_is_not_repeated_in_full():
    name = "x" * 10_000
    assert len(malformed(f'{{"{name}": 1, "{name}": 2}}'.encode())) < 300


@PROMPT
@given(st.binary(max_size=80) | st.text(max_size=80).map(str.encode))
def test_any_bytes_are_read_or_refused_as_malformed_or_unusable(raw):
    try:
        found = read(SizingRequest, raw)
    except (ProblemError, InvalidRequestError) as error:
        found = str(error)
    assert found


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda part: (
        st.lists(part, max_size=3) | st.dictionaries(st.text(max_size=8), part, max_size=3)
    ),
    max_leaves=10,
)


@STEADY
@given(JSON)
def test_plain_data_is_what_any_json_reader_finds(value):
    assert parse_json(json.dumps(value).encode()) == value
