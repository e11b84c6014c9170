from __future__ import annotations

import pytest

from service.rulesets.cite import cite
from tests.unit.make import baseline


def test_a_value_is_cited_by_what_it_is():
    assert cite("values.strip_margin", baseline()).value == "2 in"
    assert cite("values.stocked_widths", baseline()).value == [
        "4 in",
        "6 in",
        "8 in",
        "10 in",
        "12 in",
    ]


@pytest.mark.parametrize(
    ("rule", "member"),
    [
        ("tables.suitability.rows.active_nest", "then"),
        ("bill.screw.estimate.fixing", "driver"),
        ("cautions.falls", "text"),
    ],
)
def test_another_rule_is_cited_whole(rule, member):
    assert member in cite(rule, baseline()).value


@pytest.mark.parametrize("rule", ["values.lapp", "bill.screw.spare.most", "nothing"])
def test_a_rule_that_does_not_exist_cannot_be_cited(rule):
    with pytest.raises(KeyError):
        cite(rule, baseline())
