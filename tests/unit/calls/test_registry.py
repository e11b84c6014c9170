"""What is true of every computing call."""

from __future__ import annotations

import json

import pytest
import rfc8785
from gapwright.calls.registry import BY_NAME, CALLS
from gapwright.places import shipped
from gapwright.quantity.output import encode
from gapwright.rulesets.explanation import explanation
from gapwright.rulesets.recording import recording
from gapwright.strict import convert
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.calls.layouts import ARRAY
from tests.unit.calls.quotes import SITE, demo, named
from tests.unit.make import baseline
from tests.unit.measures import STEADY
from tests.unit.wire import as_sent

EXAMPLES = [(call, name) for call in CALLS for name in call.examples]


def example(call, name, **changes):
    """Return the rule set of an example, and a function that computes it under any."""
    request = json.loads((shipped("openapi") / "examples" / f"{name}.json").read_bytes())
    request = convert(request | changes, call.request)
    rules = named(request.ruleset) if request.ruleset else baseline()
    return rules, lambda rules: call.compute(request, rules, *([demo()] if call.priced else []))


def has(body, pointer):
    """Return whether a JSON pointer leads to a member; the empty one is the whole answer."""
    for step in pointer.split("/")[1:]:
        if isinstance(body, list):
            if int(step) >= len(body):
                return False
            body = body[int(step)]
        elif step not in body:
            return False
        else:
            body = body[step]
    return True


@pytest.mark.parametrize(("call", "name"), EXAMPLES, ids=lambda part: getattr(part, "path", part))
def test_every_example_has_a_canonical_answer_in_both_units(call, name):
    rules, compute = example(call, name)
    found = compute(rules)
    assert isinstance(found.result, call.answer)
    for system in ("imperial", "metric"):
        body = encode(found.result, system)
        assert body == rfc8785.dumps(json.loads(body))


@pytest.mark.parametrize(("call", "name"), EXAMPLES, ids=lambda part: getattr(part, "path", part))
def test_an_explanation_changes_no_answer_and_points_into_it(call, name):
    rules, compute = example(call, name)
    recorded = recording(rules)
    plain, explained = compute(rules), compute(recorded)
    assert encode(explained.result, "imperial") == encode(plain.result, "imperial")
    assert explained.facts == plain.facts
    found = explanation(recorded)
    body = as_sent(plain.result)
    assert found.figures
    assert [one.pointer for one in found.figures if not has(body, one.pointer)] == []
    assert {key for one in found.figures for key in one.rules} == found.rules.keys()
    assert all(rule.file and rule.line for rule in found.rules.values())


def test_a_verdict_is_an_answer_and_not_an_error():
    call = BY_NAME["suitability"]
    found = call.compute(convert({"site": {"active_nest": True}}, call.request), baseline())
    assert found.result.verdict == "unsuitable"
    assert found.facts["active_nest"] is True


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_what_a_site_does_not_say_is_listed_with_what_was_assumed(units):
    call = BY_NAME["suitability"]
    request = {"roof_covering": "asphalt_shingle", "racking": "rail_mounted"}
    found = as_sent(call.compute(convert(request, call.request), baseline()).result, units)
    assumed = {entry.fact: entry.assumed for entry in found.assumptions}
    assert assumed["clearance"]["text"] == {"imperial": "4 1/2 in", "metric": "115 mm"}[units]
    assert assumed["active_nest"] is False


@pytest.mark.parametrize(("call", "name"), EXAMPLES, ids=lambda part: getattr(part, "path", part))
def test_the_units_asked_for_change_no_decision(call, name):
    """Results are exact, so those for either units are equal, whatever is written of them."""
    results = []
    for units in ("imperial", "metric"):
        rules, compute = example(call, name, units=units)
        results.append(compute(rules).result)
    assert results[0] == results[1]


@settings(STEADY, max_examples=40)
@given(
    st.lists(st.integers(32, 150), min_size=1, max_size=4), st.sampled_from(["imperial", "metric"])
)
def test_one_gap_is_sized_alike_by_every_call(sixteenths, units):
    """Also where it is loose, and whatever units are asked for."""
    gap = {"clearance": {"readings": [f"{count}/16 in" for count in sixteenths]}, "units": units}

    def result(name, **more):
        call = BY_NAME[name]
        request = convert({**gap, **more}, call.request)
        return call.compute(request, baseline(), *([None] if call.priced else [])).result

    sized = result("sizing")
    laid = result("layout", **ARRAY)
    billed = [result("materials", perimeter="90 ft"), result("materials", layout=ARRAY)]
    quoted = result("quote", **SITE, planes=[ARRAY], stories=1, crew=2, working_day="8 h")
    assert laid.strip_width == sized.strip.width
    assert laid.profile == sized.profile
    assert laid.strips[0].advice == sized.advice
    assert [one.strip_width for one in billed] == [sized.strip.width] * 2
    assert [one.advice for one in billed] == [sized.advice] * 2
    assert all(strip.profile == sized.profile for strip in quoted.sizing)
    assert all(strip.advice == sized.advice for strip in quoted.sizing)
