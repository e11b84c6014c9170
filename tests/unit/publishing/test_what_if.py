"""What if: one job under two rule sets, and every figure that differs between the answers."""

from __future__ import annotations

import copy
from fractions import Fraction

import msgspec
import pytest
from gapwright.errors import InvalidRequestError
from gapwright.publishing.what_if import what_if
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY
from tests.unit.make import baseline, with_values
from tests.unit.measures import IN

SIZING = {"clearance": {"readings": ["4 1/2 in", "4 1/2 in", "4 1/4 in"]}}
MATERIALS = {"perimeter": "90 ft", "strip_width": "8 in", "zones": {"exposed": "30 ft"}}


def figures(call, job, after, before=None):
    found = what_if(call, job, before or baseline(), after)
    return {d.figure: (d.before, d.after) for d in found.differences}


@pytest.mark.parametrize(
    ("call", "job"), [("sizing", SIZING), ("materials", MATERIALS), ("suitability", {})]
)
def test_nothing_differs_under_the_same_rules(call, job):
    found = what_if(call, job, baseline(), with_values({}))
    assert found.differences == ()
    assert found.before == found.after


def test_a_length_that_differs_is_told_whole():
    wider = with_values({"mesh_margin": 4 * IN})
    found = figures("sizing", SIZING, wider)
    assert found["/strip/width"][0]["text"] == "8 in"
    assert found["/strip/width"][1]["text"] == "10 in"
    assert not [figure for figure in found if figure.startswith("/strip/width/")]
    assert found["/strip/common"] == (True, False)
    assert "/profile/web" not in found


def test_what_only_one_of_the_answers_has_is_null_in_the_other():
    found = figures("sizing", SIZING, with_values({"stock_widths": (4 * IN,)}))
    assert found["/strip/width"][1] is None
    assert found["/profile"][0]["fit"] == "snug"
    assert found["/profile"][1] is None
    back = figures("sizing", SIZING, baseline(), with_values({"stock_widths": (4 * IN,)}))
    assert back["/profile"] == found["/profile"][::-1]


QUICK = {"perimeter": "90 ft", "strip_width": "8 in"}


def test_lines_are_compared_by_their_item():
    found = figures("materials", QUICK, with_values({"waste_factor": Fraction(1, 4)}))
    assert {figure.split("/")[2] for figure in found} == {"mesh"}
    assert found["/lines/mesh/quantity"] == (108, 112.5)


def test_a_line_that_one_rule_set_has_no_need_of_moves_no_other():
    bill = tuple(item for item in baseline().bill if item.id != "ring")
    found = figures("materials", QUICK, msgspec.structs.replace(baseline(), bill=bill))
    assert set(found) == {"/lines/ring"}
    assert found["/lines/ring"][1] is None


def test_reasons_are_compared_by_their_row():
    site = {"roof_covering": "asphalt_shingle", "racking": "rail_mounted"}
    ten = msgspec.structs.replace(baseline().values, default_clearance=10 * IN)
    found = figures("suitability", site, msgspec.structs.replace(baseline(), values=ten))
    assert {"/reasons/too_high", "/assumptions/clearance/assumed"} == set(found)
    assert found["/reasons/too_high"][0] is None


def put(part, steps, value):
    """Put a value at a place of an answer; a list grows as far as it must."""
    *above, last = steps
    for step in above:
        part = part[int(step) if isinstance(part, list) else step]
    if isinstance(part, list):
        part.extend([None] * (int(last) + 1 - len(part)))
        last = int(last)
    part[last] = value


def bare(part):
    """Return an answer without what is null: a difference tells null and missing alike."""
    if isinstance(part, dict):
        return {name: bare(one) for name, one in part.items() if one is not None}
    return [bare(one) for one in part if one is not None] if isinstance(part, list) else part


@pytest.mark.parametrize(
    "changes",
    [
        {"mesh_margin": 3 * IN},
        {"mesh_margin": 9 * IN},
        {"web_reduction": IN // 4},
        {"max_bend_angle": 75.0},
        {"min_bend_angle": 79.0},
        {"min_web": 5 * IN},
        {"tight_spot_drop": IN // 8, "tight_spot_share": 1},
        {"snap_bends_to_wires": True},
    ],
)
def test_the_differences_are_all_that_differs(changes):
    found = what_if("sizing", SIZING, baseline(), with_values(changes))
    assert found.before != found.after
    patched = copy.deepcopy(found.before)
    for difference in found.differences:
        put(patched, difference.figure.split("/")[1:], difference.after)
    assert bare(patched) == bare(found.after)


def test_the_answers_are_the_ones_that_the_calls_give():
    found = what_if("suitability", {"racking": "rail_mounted"}, baseline(), baseline())
    assert found.before["verdict"] == "survey"
    assert found.before["attachment"] == "rails"


def test_a_job_that_cannot_be_used_is_told_at_its_place():
    with pytest.raises(InvalidRequestError) as caught:
        what_if("sizing", {"clearance": {"readings": [4]}, "x": 1}, baseline(), baseline())
    assert [fault.path for fault in caught.value.faults] == [
        ("given", "clearance", "readings", 0),
        ("given", "x"),
    ]


def test_a_job_that_only_one_rule_set_can_answer_is_told():
    fewer = msgspec.structs.replace(baseline(), zones={})
    with pytest.raises(InvalidRequestError) as caught:
        what_if("materials", MATERIALS, baseline(), fewer)
    assert [fault.path for fault in caught.value.faults] == [("given", "zones", "exposed")]


def test_a_call_that_does_not_exist_is_told_with_the_nearest():
    with pytest.raises(InvalidRequestError) as caught:
        what_if("sizeing", SIZING, baseline(), baseline())
    (fault,) = caught.value.faults
    assert fault.path == ("call",)
    assert "sizing" in fault.remedy


def test_both_answers_are_in_the_same_units_also_where_the_rule_sets_prefer_others():
    """Else every length differs, and the ones that do are not to be found."""
    shelf = Shelf(HISTORY)
    metric = shelf.load(shelf.ledger["northmoor"]["1.0.0"])
    assert (metric.units, baseline().units) == ("metric", "imperial")
    assert figures("sizing", SIZING, metric) == {}
    assert figures("sizing", {**SIZING, "units": "metric"}, metric) == {}


@pytest.mark.parametrize("units", [{}, "", 0, False])
def test_units_that_are_none_are_told_and_not_passed_over(units):
    with pytest.raises(InvalidRequestError) as caught:
        what_if("sizing", {**SIZING, "units": units}, baseline(), baseline())
    assert [fault.path for fault in caught.value.faults] == [("given", "units")]


def test_a_whole_number_may_be_written_with_a_point():
    job = {**QUICK, "corners": 4.0, "penetrations": 2.0}
    assert figures("materials", job, baseline()) == {}
