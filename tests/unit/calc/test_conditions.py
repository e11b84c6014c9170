from __future__ import annotations

import pytest
from gapwright.calc.conditions import applies, cautions, certainly_holds
from gapwright.rulesets.figures import Figure

from tests.unit.make import baseline

SPRAYED_RINGS = (("finish", frozenset({"spray"})), ("joining", frozenset({"rings"})))


@pytest.mark.parametrize(
    ("facts", "fulfilled"),
    [
        ({"finish": "spray", "joining": "rings"}, True),
        ({"finish": "spray", "joining": "ties"}, False),
        ({"finish": "prepainted", "joining": "rings"}, False),
        ({"finish": "spray"}, True),
        ({"joining": "ties"}, False),
        ({}, True),
    ],
)
def test_all_conditions_must_be_fulfilled_and_an_unknown_fact_fulfils_any(facts, fulfilled):
    assert applies(SPRAYED_RINGS, facts) is fulfilled


def test_no_condition_always_holds():
    assert applies((), {"finish": "spray"})


def test_a_condition_takes_any_of_its_options():
    when = (("roof_covering", frozenset({"slate", "tile"})),)
    assert applies(when, {"roof_covering": "tile"})
    assert not applies(when, {"roof_covering": "membrane"})


def test_a_fact_that_is_known_to_be_false_is_not_unknown():
    assert not applies((("active_nest", frozenset({True})),), {"active_nest": False})


@pytest.mark.parametrize(
    ("facts", "fulfilled"),
    [
        ({"finish": "spray", "joining": "rings"}, True),
        ({"finish": "spray", "joining": "ties"}, False),
        ({"finish": "spray"}, False),
        ({}, False),
    ],
)
def test_where_work_hangs_on_it_an_unknown_fact_fulfils_no_condition(facts, fulfilled):
    assert certainly_holds(SPRAYED_RINGS, facts) is fulfilled
    assert certainly_holds((), facts)


def test_an_assumed_fact_is_compared_by_its_value():
    facts = {"finish": Figure("spray"), "joining": Figure("rings")}
    assert applies(SPRAYED_RINGS, facts)
    assert certainly_holds(SPRAYED_RINGS, facts)
    assert not applies(SPRAYED_RINGS, facts | {"finish": Figure("prepainted")})


ALWAYS = {
    "local_code",
    "falls",
    "live_conductors",
    "sharp_edges",
    "wildlife",
    "dangling_wires",
    "module_back",
    "wire_clips",
    "manufacturers",
    "fire_access",
    "mice",
    "wind",
}


def given_for(**facts):
    return [caution.id for caution in cautions(facts, baseline())]


@pytest.mark.parametrize("facts", [{}, {"finish": "prepainted"}, {"roof_covering": "membrane"}])
def test_the_cautions_that_save_lives_and_arrays_are_given_whatever_the_job(facts):
    assert set(given_for(**facts)) >= ALWAYS


def test_overspray_is_warned_of_where_paint_is_sprayed_or_nobody_knows():
    assert "overspray" in given_for(finish="spray")
    assert "overspray" in given_for()
    assert "overspray" not in given_for(finish="prepainted")


@pytest.mark.parametrize(
    ("roof_covering", "warned"),
    [
        ("clay_tile", True),
        ("concrete_tile", True),
        ("slate", True),
        ("standing_seam_metal", True),
        ("asphalt_shingle", False),
    ],
)
def test_a_covering_that_breaks_or_slips_is_warned_of(roof_covering, warned):
    assert ("brittle_covering" in given_for(roof_covering=roof_covering)) is warned


def test_cautions_stand_in_the_order_of_the_rule_file():
    order = [caution.id for caution in baseline().cautions]
    assert given_for() == order
