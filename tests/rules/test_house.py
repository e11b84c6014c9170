"""What a company adds to a copy of the file, without a line of Python, works."""

from __future__ import annotations

import msgspec
import pytest
from gapwright.calls.materials import MaterialsRequest
from gapwright.calls.materials import materials as compute_materials
from gapwright.calls.suitability import SuitabilityRequest
from gapwright.calls.suitability import suitability as compute_suitability
from gapwright.quantity.kinds import decode
from gapwright.quantity.output import plain
from gapwright.rulesets.explanation import explanation
from gapwright.rulesets.recording import recording

from tests.unit.make import added, house_text, rules_of, spoiled

END_CAP = """\
  end_cap:
    description: End cap, black
    estimate:
      caps: {driver: corners}
    spare: 10 %
    pack: {name: bag, pack_size: 25}
    source: from-memory
"""


def materials(rules, **told):
    request = {"perimeter": "90 ft", "strip_width": "8 in", **told}
    form = msgspec.convert(request, MaterialsRequest, dec_hook=decode)
    return compute_materials(form, rules)


def lines(computed):
    return {line["item"]: line for line in plain(computed.result, "imperial")["lines"]}


def test_one_end_cap_for_each_corner_is_a_line_of_yaml():
    rules = rules_of(added("bill", END_CAP))
    cap = lines(materials(rules, corners=6))["end_cap"]
    assert (cap["quantity"], cap["unit"], cap["description"]) == (7, "each", "End cap, black")
    assert (cap["packs"]["count"], cap["packs"]["remaining"]) == (1, 18)
    assert [part["quantity"] for part in cap["parts"]] == [6]


def test_the_new_line_leaves_the_others_as_they_were():
    old, new = rules_of(house_text()), rules_of(added("bill", END_CAP))
    before, after = lines(materials(old)), lines(materials(new))
    assert set(after) - set(before) == {"end_cap"}
    assert all(after[name] == line for name, line in before.items())
    assert old.digest != new.digest


def test_the_new_line_is_explained_by_its_rule():
    rules = recording(rules_of(added("bill", END_CAP)))
    at = list(lines(materials(rules))).index("end_cap")
    told = explanation(rules)
    cited = {key for f in told.figures if f.pointer.startswith(f"/lines/{at}") for key in f.rules}
    assert "bill.end_cap.estimate.caps" in cited
    assert told.rules["bill.end_cap.estimate.caps"].value == {"driver": "corners"}


@pytest.mark.parametrize(
    ("entry", "item", "quantity"),
    [
        ("{driver: penetrations, each: 2}", "collar", 6),
        ("{driver: perimeter, one_per: 2.5 m}", "collar", 11),
        ("{driver: mesh_length, one_per: 50 ft}", "collar", 3),
    ],
)
def test_every_driver_can_carry_a_line_of_the_companys_own(entry, item, quantity):
    text = f"  {item}: {{description: Collar, source: from-memory, estimate: {{a: {entry}}}}}\n"
    rules = rules_of(added("bill", text))
    assert lines(materials(rules, penetrations=3))[item]["quantity"] == quantity


def test_a_tool_and_a_caution_of_the_companys_own_are_given():
    extra = "  ladder: {description: Roof ladder, need: needed, source: from-memory}\n"
    rules = rules_of(added("tools", extra))
    needed = [tool.tool for tool in materials(rules).result.tools.needed]
    assert "ladder" in needed


def test_a_stricter_verdict_is_one_word_in_the_table():
    place = "tables.suitability.rows.brittle_on_rails"
    text, _ = spoiled(place, "verdict: conditional", "verdict: survey")
    rules = rules_of(text)
    request = {
        "roof_covering": "slate",
        "racking": "rail_mounted",
        "clearance": {"readings": ["4 in"]},
    }
    form = msgspec.convert(request, SuitabilityRequest, dec_hook=decode)
    assert compute_suitability(form, rules).result.verdict == "survey"
