"""A recording rule set reads as the one it is made from, and notes which entries are read."""

from __future__ import annotations

from functools import partial

import msgspec
import pytest
from gapwright.rulesets.explanation import explanation
from gapwright.rulesets.recording import recording
from gapwright.rulesets.values import Values

from tests.unit.calls.quotes import named
from tests.unit.make import baseline

RULES = named("baseline@1.2.0")
SIZED = "values.mesh_margin"


def read(look, rules=RULES):
    """Return what is noted while `look` reads a recording rule set."""
    recorded = recording(rules)
    return recorded.figure(partial(look, recorded)).reads


@pytest.mark.parametrize("name", [field.name for field in msgspec.structs.fields(Values)])
def test_each_value_reads_as_in_the_rule_set_and_is_noted_by_its_key(name):
    recorded = recording(RULES)
    found = recorded.figure(lambda: getattr(recorded.values, name))
    assert (found.value, found.reads) == (getattr(RULES.values, name), (f"values.{name}",))


def test_values_and_ratios_that_a_zone_changes_are_noted_under_the_zone():
    zone = RULES.zones["exposed"]
    own = next(iter(zone.changed))
    item, need = next(iter(zone.ratios))
    assert read(lambda rules: getattr(rules.zones["exposed"].values, own)) == (
        f"zones.exposed.values.{own}",
    )
    assert read(lambda rules: rules.zones["exposed"].values.stock_widths) == (
        "values.stock_widths",
    )
    assert read(lambda rules: rules.zones["exposed"].ratios.get((item, need))) == (
        f"zones.exposed.bill.{item}.{need}",
    )
    assert read(lambda rules: rules.zones["exposed"].ratios.get(("no", "such"))) == ()


def test_what_a_line_of_the_bill_is_computed_from_is_noted_and_its_labels_are_not():
    def screw(rules):
        return next(item for item in rules.bill if item.id == "screw")

    assert read(lambda rules: (screw(rules).description, screw(rules).measured)) == ()
    assert read(lambda rules: screw(rules).pack) == ("bill.screw.pack",)
    assert read(lambda rules: screw(rules).spare) == (), "there is none"
    assert read(lambda rules: screw(rules).needs[0].one_per) == ("bill.screw.estimate.fixing",)


def test_rates_labor_factors_assumptions_and_the_mesh_are_noted():
    assert read(lambda rules: rules.assumptions["crew"].value) == ("assumptions.crew",)
    assert read(lambda rules: rules.mesh.density) == ("mesh.density",)
    assert read(lambda rules: rules.mesh.spacing_nm) == ("values.mesh_opening",)
    (rate,) = read(lambda rules: rules.work[0].job[0].minutes)
    assert rate == RULES.work[0].job[0].rule
    assert read(lambda rules: rules.labor_factors[0].share) == (RULES.labor_factors[0].rule,)


def test_an_ordinary_rule_set_records_nothing():
    rules = baseline()
    found = rules.figure(lambda: rules.values.mesh_margin)
    assert rules.recorder is None
    assert (rules.show("/width", found), found.reads) == (rules.values.mesh_margin, ())


def test_an_explanation_describes_each_rule_once_with_where_it_is_written():
    recorded = recording(RULES)
    margin = recorded.figure(lambda: recorded.values.mesh_margin)
    none = recorded.figure(lambda: 1)
    for pointer in ("/strip/width", "/strip/spare"):
        recorded.show(pointer, margin)
    recorded.show("/clearance", none)
    found = explanation(recorded)
    assert [(one.pointer, one.rules) for one in found.figures] == [
        ("/strip/width", (SIZED,)),
        ("/strip/spare", (SIZED,)),
    ]
    rule = found.rules[SIZED]
    assert list(found.rules) == [SIZED]
    assert rule.value == "2 in"
    assert rule.description
    assert rule.source
    assert rule.file.endswith("baseline/1.0.0.yaml")
    assert rule.line > 1
