from __future__ import annotations

import hashlib
import json

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from service.api.envelope import encode_envelope
from service.calls.registry import BY_NAME
from service.calls.request import Computed
from service.calls.sizing import SizingForm
from service.canonical import canonical_request, canonical_result
from service.quantity.show import long, short
from service.rulesets.recording import recording
from service.strict import convert
from tests.unit.make import baseline
from tests.unit.measures import STEADY, M

REQUEST = {"perimeter": "90 ft", "corners": 4}


def answered(facts=None):
    """Return an answer as a caller decodes it."""
    computed = Computed(result={"web": 4.5}, facts=facts or {})
    made = encode_envelope(canonical_request(REQUEST), computed, "imperial", baseline())
    return json.loads(made)


def digest(value):
    return f"sha256:{hashlib.sha256(rfc8785.dumps(value)).hexdigest()}"


def test_an_answer_says_whose_rules_it_follows():
    rules = baseline()
    assert answered()["ruleset"] == {
        "id": rules.id,
        "version": rules.version,
        "digest": rules.digest,
        "effective": rules.effective.isoformat(),
    }


def test_the_members_stand_in_the_order_of_the_contract():
    assert list(answered()) == ["ruleset", "engine", "result", "cautions", "receipt"]


def test_a_receipt_holds_the_digests_of_what_was_asked_and_what_was_answered():
    found = answered()
    assert found["receipt"] == {"request": digest(REQUEST), "result": digest(found["result"])}


def test_an_explanation_tells_each_rule_with_what_it_says():
    rules = recording(baseline())
    form = convert({"clearance": {"readings": ["4 1/2 in"]}}, SizingForm)
    computed = BY_NAME["sizing"].compute(form, rules)
    found = json.loads(encode_envelope(b"{}", computed, "imperial", rules))
    assert list(found)[-2:] == ["explanation", "receipt"]
    told = found["explanation"]["rules"]["values.web_allowance"]
    assert told["value"] == "1/2 in"
    assert (told["file"], told["line"] > 1) == ("house.yaml", True)


def test_cautions_are_those_that_the_facts_call_for():
    def ids(facts):
        return {caution["id"] for caution in answered(facts)["cautions"]}

    assert ids({"painted": "spray"}) - ids({"painted": "prepainted"}) == {"overspray"}
    assert "falls" in ids({"painted": "prepainted"})


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda part: (
        st.lists(part, max_size=3)
        | st.dictionaries(st.text("abcXYZ_09", max_size=4), part, max_size=3)
    ),
    max_leaves=4,
)


@STEADY
@given(JSON)
def test_a_request_is_written_canonically_whatever_its_numbers(request_data):
    assert canonical_request(request_data) == rfc8785.dumps(request_data)


@pytest.mark.parametrize(
    "number", [4.0, -0.0, 1e21, 1e20, 1e-7, 0.1, 1.5e300, 123456789.123456, 5e-324, -1e-5, 1e16]
)
def test_numbers_that_readers_write_in_several_ways_are_written_in_one(number):
    assert canonical_request({"corners": number}) == rfc8785.dumps({"corners": number})


@STEADY
@given(
    st.sampled_from([short, long]),
    st.integers(-M, 10_000 * M),
    st.sampled_from(["imperial", "metric"]),
    st.sampled_from(["up", "down"]),
)
def test_a_length_of_a_result_is_canonical_as_it_is_written(write, nm, system, safe):
    canonical = canonical_result(write(nm, system, safe))
    assert canonical == rfc8785.dumps(json.loads(canonical))
