from __future__ import annotations

import json

import msgspec
import pytest

from service.calls.computing import CALLS, compute_materials, compute_sizing, compute_suitability
from service.calls.forms import SizingForm, SuitabilityForm
from service.calls.materials_form import MaterialsForm
from service.errors import BadInputError
from service.places import shipped
from service.quantity.kinds import decode
from service.rulesets.cite import cite
from tests.unit.calls.quotes import demo, named
from tests.unit.make import added, baseline, rules_of, spoiled, with_values
from tests.unit.measures import FT, IN

SIZING = {"clearance": {"readings": ["6 in", "5 3/4 in", "6 in", "6 in", "4 in"]}}
MATERIALS = {"perimeter": "91 ft", "clearance": {"readings": ["4 1/2 in"]}, "joining": "ties"}
COIL = """\
  edging:
    description: Edging
    unit: length
    estimate: {edge: {driver: perimeter}}
    pack: {name: coil, holds: 25 ft}
    source: from-memory
"""


def computed(call, request, rules=None):
    form_of = {
        compute_sizing: SizingForm,
        compute_materials: MaterialsForm,
        compute_suitability: SuitabilityForm,
    }
    form = msgspec.convert(request, form_of[call], dec_hook=decode)
    return call(form, rules or baseline())


def at(body, pointer):
    """Return what stands at a JSON pointer, None where nothing does."""
    for step in pointer.strip("/").split("/"):
        if isinstance(body, (list, tuple)):
            body = body[int(step)] if int(step) < len(body) else None
        else:
            body = body.get(step) if isinstance(body, dict) else None
    return body


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.path)
def test_every_example_of_the_contract_is_answered_and_traced_into_its_own_result(call):
    assert call.examples
    for name in call.examples:
        request = json.loads((shipped("openapi") / "examples" / f"{name}.json").read_bytes())
        form = msgspec.convert(request, call.form, dec_hook=decode)
        rules = named(form.ruleset) if form.ruleset else baseline()
        found = call.compute(form, rules, *([demo()] if call.priced else []))
        assert isinstance(found.result, call.answer)
        body = msgspec.to_builtins(found.result)
        assert found.trace
        for step in found.trace:
            assert at(body, step.figure) is not None
            assert step.cites
            assert [cite(rule, rules).rule for rule in step.cites] == list(step.cites)


STRICTER = {
    "strip_margin": 3 * IN,
    "stocked_widths": (6 * IN, 9 * IN, 12 * IN),
    "common_widths": (6 * IN,),
    "web_allowance": IN,
    "least_web": 2 * IN,
    "turn_from": 60.0,
    "turn_to": 72.0,
    "turn_step": 5.0,
    "mesh_opening": IN // 4,
    "snap_bends_to_wires": True,
    "tight_spot_drop": 3 * IN,
    "tight_spot_share": 0,
}
FIGURES = {
    "/clearance/tightest",
    "/clearance/isolated",
    "/strip/required_width",
    "/strip/width",
    "/strip/common",
    "/strip/spare",
    "/profile/web",
    "/profile/flange",
    "/profile/bend_lines",
    "/profile/bend_angle/from",
    "/profile/bend_angle/to",
    "/profile/free_height/from",
    "/profile/free_height/to",
    "/profile/fit",
}


@pytest.mark.parametrize("name", STRICTER)
@pytest.mark.parametrize("snapped", [False, True])
def test_a_value_that_moves_a_figure_of_a_sizing_is_cited_by_it(name, snapped):
    before = with_values({"snap_bends_to_wires": snapped})
    after = with_values({"snap_bends_to_wires": snapped, name: STRICTER[name]})
    old, new = (computed(compute_sizing, SIZING, rules) for rules in (before, after))
    cites = {step.figure: step.cites for step in old.trace}
    bodies = [msgspec.to_builtins(found.result) for found in (old, new)]
    pairs = {figure: [at(body, figure) for body in bodies] for figure in FIGURES}
    moved = {figure for figure, (one, two) in pairs.items() if one != two and two is not None}
    assert {figure for figure in moved if f"values.{name}" not in cites[figure]} == set()


@pytest.mark.parametrize(
    ("place", "old", "new", "rule"),
    [
        ("values.mesh_allowance", "20 %", "30 %", "values.mesh_allowance"),
        ("bill.screw", "one_per: 6 ft", "one_per: 5 ft", "bill.screw.estimate.fixing"),
        ("bill.tie", "one_per: 4 ft", "one_per: 3 ft", "bill.tie.estimate.joining"),
    ],
)
def test_a_rule_that_moves_a_line_of_the_bill_is_cited_by_it(place, old, new, rule):
    text, _ = spoiled(place, old, new)
    before, after = (
        computed(compute_materials, MATERIALS),
        computed(compute_materials, MATERIALS, rules_of(text)),
    )
    cites = {step.figure: step.cites for step in before.trace}
    pairs = list(zip(before.result.lines, after.result.lines, strict=True))
    moved = [n for n, (one, other) in enumerate(pairs) if one.quantity != other.quantity]
    assert moved
    uncited = {pairs[n][0].item for n in moved if rule not in cites[f"/lines/{n}/quantity"]}
    assert uncited == set()


@pytest.mark.parametrize(("more", "rule"), [("spare: 10 %", "spare"), ("minimum: 500", "minimum")])
def test_a_spare_or_a_minimum_that_sets_a_quantity_is_cited_by_it(more, rule):
    text, _ = spoiled("bill.screw", "description:", f"{more}\n    description:")
    found = computed(compute_materials, MATERIALS, rules_of(text))
    at_line = [line.item for line in found.result.lines].index("screw")
    (step,) = [s for s in found.trace if s.figure == f"/lines/{at_line}/quantity"]
    assert {f"bill.screw.{rule}", "bill.screw"} & set(step.cites)


def test_usual_corners_are_cited_where_the_caller_told_none():
    cap = "  cap: {description: Cap, source: from-memory, estimate: {a: {driver: corners}}}\n"
    rules = rules_of(added("bill", cap))
    (step,) = [
        s
        for s in computed(compute_materials, MATERIALS, rules).trace
        if s.figure == "/lines/0/quantity"
    ]
    assert "values.usual_corners" in step.cites


@pytest.mark.parametrize(
    ("units", "told"), [("imperial", "100 ft"), ("metric", "30.48 m"), (None, "100 ft")]
)
def test_a_roll_that_is_not_sold_is_refused_with_those_that_are(units, told):
    request = {**MATERIALS, "roll_length": "75 ft", "units": units}
    with pytest.raises(BadInputError) as caught:
        computed(compute_materials, request)
    (fault,) = caught.value.faults
    assert fault.pointer == "/roll_length"
    assert told in fault.remedy


@pytest.mark.parametrize("roll", ["100 ft", "50 ft", "15.24 m", "1200 in"])
def test_a_roll_that_is_sold_may_be_asked_for_in_any_unit(roll):
    mesh = computed(compute_materials, {**MATERIALS, "roll_length": roll}).result.lines[0]
    assert mesh.packs.holds in (50, 100)


def test_mesh_is_not_sold_in_the_lengths_of_other_things():
    rules = rules_of(added("bill", COIL))
    with pytest.raises(BadInputError):
        computed(compute_materials, {**MATERIALS, "roll_length": "25 ft"}, rules)


def test_the_answer_is_in_the_units_of_the_rule_set_unless_the_caller_says_otherwise():
    metric = msgspec.structs.replace(baseline(), units="metric")
    assert computed(compute_sizing, SIZING, metric).result.strip.width.unit == "mm"
    told = {**SIZING, "units": "imperial"}
    assert computed(compute_sizing, told, metric).result.strip.width.unit == "in"


def test_a_strip_that_is_told_is_taken_and_none_is_sized():
    request = {"perimeter": "91 ft", "strip_width": "10 in"}
    found = computed(compute_materials, request)
    assert (found.result.strip_width.text, found.result.advice) == ("10 in", ())
    assert "/strip_width" not in [step.figure for step in found.trace]


def test_a_verdict_is_an_answer_and_not_an_error():
    found = computed(compute_suitability, {"site": {"active_nest": True}})
    assert found.result.verdict == "unsuitable"
    assert found.facts["active_nest"] is True


def test_the_perimeter_is_told_back_as_it_was_read():
    found = computed(compute_materials, {**MATERIALS, "perimeter": "27 m"})
    assert found.result.perimeter.value == pytest.approx(27_000_000_000 / FT, abs=1e-6)
    assert found.result.perimeter.rounded == "up"
