from __future__ import annotations

import pytest
from gapwright.calc.conditions import applies
from gapwright.rulesets.build.conditions import build_conditions
from gapwright.rulesets.measure import Faults


def built(when):
    found = Faults()
    conditions = build_conditions(when, ("when",), found)
    return conditions, {fault.pointer: fault.detail for fault in found}


def test_one_option_or_several_may_be_written():
    (one, faults), (several, more) = (
        built({"joining": "ties"}),
        built({"roof_covering": ["clay_tile", "slate"]}),
    )
    assert faults == more == {}
    assert applies(one, {"joining": "ties"})
    assert not applies(one, {"joining": "rings"})
    assert applies(several, {"roof_covering": "slate"})


@pytest.mark.parametrize(
    ("when", "pointer", "words"),
    [
        ({"joning": "ties"}, "/when/joning", "Did you mean 'joining'?"),
        ({"joining": "tie"}, "/when/joining", "Did you mean 'ties'?"),
        ({"joining": ["ties", 4]}, "/when/joining", "number 4"),
        ({"active_nest": "yes"}, "/when/active_nest", "true or false"),
        ({"active_nest": 1}, "/when/active_nest", "true or false"),
        ({"clearance": "4 in"}, "/when/clearance", "Unknown fact 'clearance'"),
    ],
)
def test_a_condition_on_nothing_that_is_known_is_told(when, pointer, words):
    assert words in built(when)[1][pointer]
