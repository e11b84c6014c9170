from __future__ import annotations

import pytest

from service.calc.sizing import size
from service.calc.sizing_trace import sizing_trace
from service.rulesets.cite import cite
from tests.unit.make import baseline, with_values
from tests.unit.measures import inches

JOBS = [("4 1/2",), ("6", "5 1/2"), ("11",), ("1",), ("4", "4", "4", "4", "2")]


def steps(readings, rules):
    found = sizing_trace(size([inches(r) for r in readings], rules.values), rules.values)
    return {step.figure: step.cites for step in found}


@pytest.mark.parametrize("readings", JOBS)
@pytest.mark.parametrize("snapped", [False, True])
def test_every_rule_that_a_figure_cites_stands_in_the_rule_set(readings, snapped):
    rules = with_values({"snap_bends_to_wires": snapped})
    for cites in steps(readings, rules).values():
        assert len(set(cites)) == len(cites)
        for rule in cites:
            assert cite(rule, rules).rule == rule


def test_no_figure_is_traced_that_the_answer_does_not_have():
    none = [figure for figure in steps(("1",), baseline()) if figure.startswith("/profile/")]
    assert none == []
    assert "/profile/web" in steps(("4 1/2",), baseline())


def test_the_mesh_has_a_say_only_where_bends_are_snapped_to_its_wires():
    assert "values.mesh_opening" not in steps(("4",), baseline())["/profile/web"]
    snapped = with_values({"snap_bends_to_wires": True})
    assert "values.mesh_opening" in steps(("4",), snapped)["/profile/web"]
