"""The bill of materials as a caller receives it."""

from __future__ import annotations

import pytest
from gapwright.calls.materials import MaterialsRequest, materials
from gapwright.errors import InvalidRequestError
from gapwright.strict import convert
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.make import added, baseline, rules_of
from tests.unit.measures import STEADY
from tests.unit.wire import as_sent

COIL = """\
  edging:
    description: Edging
    unit: length
    estimate: {edge: {driver: perimeter}}
    pack: {name: coil, pack_size: 25 ft}
    source: from-memory
"""


def billed(rules=None, **more):
    request = {"perimeter": "90 ft", "strip_width": "8 in", **more}
    found = materials(convert(request, MaterialsRequest), rules or baseline())
    return as_sent(found.result, more.get("units") or "imperial")


def lines(found):
    return {line.item: line for line in found.lines}


def test_mesh_has_its_length_and_its_rolls_and_nothing_else_has():
    found = lines(billed(perimeter="100 ft"))
    mesh = found.pop("mesh")
    assert (mesh.length.text, mesh.rolls, mesh.quantity, mesh.unit) == ("120 ft", 2, 120, "ft")
    assert (mesh.packs.pack_size, mesh.packs.remaining, mesh.packs.unit) == (100, 80, "ft")
    for line in found.values():
        assert line.keys().isdisjoint(("length", "rolls"))
        assert line.unit == "each"


def test_metric_mesh_is_in_metres():
    mesh = lines(billed(units="metric"))["mesh"]
    assert (mesh.unit, mesh.quantity, mesh.length.text) == ("m", 32.9184, "32.919 m")
    assert mesh.length.rounded == "up"
    assert mesh.packs.pack_size == 30.48


@STEADY
@given(st.integers(1, 20_000), st.sampled_from(["rings", "ties"]))
def test_the_parts_of_a_line_add_up_to_it_and_each_names_its_rule(perimeter, joining):
    for line in billed(perimeter=f"{perimeter} ft", joining=joining).lines:
        assert sum(part.quantity for part in line.parts) == pytest.approx(line.quantity)
        assert line.rule == f"bill.{line.item}"
        assert all(part.rule == f"{line.rule}.estimate.{part.need}" for part in line.parts)


def test_tools_are_needed_or_helpful():
    tools = billed(joining="ties").tools
    needed, helpful = ([tool.tool for tool in part] for part in (tools.needed, tools.helpful))
    assert {"tin_snips", "driver", "gloves"} <= set(needed)
    assert "bending_brake" in helpful
    assert "ring_tool" not in needed + helpful
    assert "ring_tool" in [tool.tool for tool in billed(joining="rings").tools.needed]


def test_without_a_strip_that_is_wide_enough_there_are_no_lines_but_advice_and_tools():
    found = billed(strip_width=None, clearance={"readings": ["11 in"]})
    assert (found.strip_width, found.lines) == (None, [])
    assert found.advice
    assert found.tools.needed


def test_a_strip_width_in_the_request_is_taken_and_none_is_sized():
    found = billed(strip_width="10 in")
    assert (found.strip_width.text, found.advice) == ("10 in", [])


def test_the_width_of_the_strip_changes_no_count():
    assert billed(strip_width="12 in").lines == billed().lines
    assert billed(strip_width=None, clearance={"readings": ["4 1/2 in"]}).lines == billed().lines


def test_corners_that_are_not_given_are_the_rule_sets_usual_ones():
    cap = "  cap: {description: Cap, estimate: {a: {driver: corners}}, source: from-memory}\n"
    rules = rules_of(added("bill", cap))
    assert lines(billed(rules))["cap"].quantity == rules.values.default_corners == 4
    assert lines(billed(rules, corners=9))["cap"].quantity == 9
    assert "cap" not in lines(billed(rules, corners=0))


@pytest.mark.parametrize(
    ("units", "sold"), [("imperial", "100 ft"), ("metric", "30.48 m"), (None, "100 ft")]
)
def test_a_roll_that_is_not_sold_is_refused_with_those_that_are(units, sold):
    with pytest.raises(InvalidRequestError) as caught:
        billed(roll_length="75 ft", units=units)
    (fault,) = caught.value.faults
    assert fault.pointer == "/roll_length"
    assert sold in fault.remedy


@pytest.mark.parametrize(
    ("roll", "pack_size"), [("100 ft", 100), ("50 ft", 50), ("15.24 m", 50), ("1200 in", 100)]
)
def test_a_roll_that_is_sold_may_be_asked_for_in_any_unit(roll, pack_size):
    assert lines(billed(roll_length=roll))["mesh"].packs.pack_size == pack_size


def test_mesh_is_not_sold_in_the_lengths_of_other_things():
    with pytest.raises(InvalidRequestError):
        billed(rules_of(added("bill", COIL)), roll_length="25 ft")


def test_the_perimeter_is_repeated_as_it_was_read():
    perimeter = billed(perimeter="27 m").perimeter
    assert perimeter.value == pytest.approx(27 / 0.3048, abs=1e-6)
    assert perimeter.rounded == "up"
