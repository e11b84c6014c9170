from __future__ import annotations

import pytest

from service.calc.conditions import certainly_holds, holds
from service.rulesets.figures import Figure

SPRAYED_RINGS = (("painted", frozenset({"spray"})), ("joining", frozenset({"rings"})))


@pytest.mark.parametrize(
    ("facts", "fulfilled"),
    [
        ({"painted": "spray", "joining": "rings"}, True),
        ({"painted": "spray", "joining": "ties"}, False),
        ({"painted": "prepainted", "joining": "rings"}, False),
        ({"painted": "spray"}, True),
        ({"joining": "ties"}, False),
        ({}, True),
    ],
)
def test_all_conditions_must_be_fulfilled_and_an_unknown_fact_fulfils_any(facts, fulfilled):
    assert holds(SPRAYED_RINGS, facts) is fulfilled


def test_no_condition_always_holds():
    assert holds((), {"painted": "spray"})


def test_a_condition_takes_any_of_its_options():
    when = (("covering", frozenset({"slate", "tile"})),)
    assert holds(when, {"covering": "tile"})
    assert not holds(when, {"covering": "membrane"})


def test_a_fact_that_is_known_to_be_false_is_not_unknown():
    assert not holds((("active_nest", frozenset({True})),), {"active_nest": False})


@pytest.mark.parametrize(
    ("facts", "fulfilled"),
    [
        ({"painted": "spray", "joining": "rings"}, True),
        ({"painted": "spray", "joining": "ties"}, False),
        ({"painted": "spray"}, False),
        ({}, False),
    ],
)
def test_where_work_hangs_on_it_an_unknown_fact_fulfils_no_condition(facts, fulfilled):
    assert certainly_holds(SPRAYED_RINGS, facts) is fulfilled
    assert certainly_holds((), facts)


def test_an_assumed_fact_is_compared_by_its_value():
    facts = {"painted": Figure("spray"), "joining": Figure("rings")}
    assert holds(SPRAYED_RINGS, facts)
    assert certainly_holds(SPRAYED_RINGS, facts)
    assert not holds(SPRAYED_RINGS, facts | {"painted": Figure("prepainted")})
