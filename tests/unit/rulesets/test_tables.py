"""A decision table answers with the rows that its hit policy lets decide, and says why."""

import pytest
from gapwright.errors import GapwrightError
from gapwright.rulesets.tables import Dimension, HitPolicy, Range, Row, Table, match

INCH_NM = 25_400_000


def inches(length_nm):
    return f"{length_nm / INCH_NM:g} in"


COVERING = Dimension(name="roof_covering", options=("slate", "tile", "shingle", "metal"))
STEEP = Dimension(name="steep", options=(False, True))
CLEARANCE = Dimension(name="clearance", describe=inches)
YES = frozenset({True})


def between(least_in, below_in):
    return Range(
        least=None if least_in is None else least_in * INCH_NM,
        below=None if below_in is None else below_in * INCH_NM,
    )


def table(policy, *rows, dimensions=(COVERING, STEEP, CLEARANCE), output_values=()):
    return Table(
        name="suits",
        dimensions=dimensions,
        rows=rows,
        policy=HitPolicy(policy),
        output_values=output_values,
    )


def deciding(asked, roof_covering="slate", steep=False, clearance_in=5):
    inputs = {"roof_covering": roof_covering, "steep": steep, "clearance": clearance_in * INCH_NM}
    return [hit.row.id for hit in match(asked, inputs)]


LOW = Row(id="low", when={"clearance": between(None, 8)}, then="fits")
STEEP_SLATE = Row(id="steep slate", when={"roof_covering": frozenset({"slate"}), "steep": YES})
REST = Row(id="rest")


def test_first_lets_the_first_row_that_matches_decide():
    asked = table("FIRST", STEEP_SLATE, LOW, REST)
    assert deciding(asked, steep=True) == ["steep slate"]
    assert deciding(asked) == ["low"]
    assert deciding(asked, clearance_in=9) == ["rest"]


def test_collect_lets_every_row_that_matches_decide_in_row_order():
    asked = table("COLLECT", REST, LOW, STEEP_SLATE)
    assert deciding(asked, steep=True) == ["rest", "low", "steep slate"]
    assert deciding(asked, steep=True, clearance_in=9) == ["rest", "steep slate"]


def test_priority_ranks_rows_by_output_value_and_equals_by_row_order():
    rows = (
        Row(id="usually", output_value="suitable"),
        Row(id="steep", when={"steep": YES}, output_value="review"),
        Row(id="high", when={"clearance": between(12, None)}, output_value="unsuitable"),
        Row(id="higher", when={"clearance": between(20, None)}, output_value="unsuitable"),
    )
    order = ("unsuitable", "review", "suitable")
    asked = table("PRIORITY", *rows, output_values=order)
    assert deciding(asked) == ["usually"]
    assert deciding(asked, steep=True) == ["steep"]
    assert deciding(asked, steep=True, clearance_in=12) == ["high"]
    assert deciding(asked, clearance_in=30) == ["high"]
    assert [row.id for row in asked.ranked] == ["high", "higher", "steep", "usually"]


def test_priority_can_rank_by_an_output_value_beside_the_outcome():
    rows = (
        Row(id="plain", then={"margin": 1}, output_value="yes"),
        Row(id="steep", when={"steep": YES}, then={"margin": 2}, output_value="no"),
    )
    asked = table("PRIORITY", *rows, output_values=("no", "yes"))
    assert deciding(asked, steep=True) == ["steep"]


def test_unique_answers_with_its_only_row_and_refuses_to_choose_between_two():
    asked = table("UNIQUE", LOW, STEEP_SLATE)
    assert deciding(asked) == ["low"]
    with pytest.raises(GapwrightError, match="suits is UNIQUE, but rows low and steep slate"):
        deciding(asked, steep=True)


@pytest.mark.parametrize("policy", ["UNIQUE", "FIRST", "COLLECT"])
def test_where_no_row_matches_the_answer_is_empty(policy):
    assert deciding(table(policy, LOW), clearance_in=8) == []
    assert deciding(table(policy)) == []


def test_a_range_holds_its_least_value_and_not_the_value_it_is_below():
    row = Row(id="middle", when={"clearance": between(2, 4)})
    asked = table("FIRST", row)

    def matches(clearance_nm):
        inputs = {"roof_covering": "slate", "steep": True, "clearance": clearance_nm}
        return bool(match(asked, inputs))

    inside = [2 * INCH_NM, 4 * INCH_NM - 1]
    outside = [0, 2 * INCH_NM - 1, 4 * INCH_NM]
    assert all(matches(value) for value in inside)
    assert not any(matches(value) for value in outside)


def test_a_table_without_dimensions_is_looked_up_with_nothing():
    asked = table("FIRST", REST, dimensions=())
    assert [hit.row.id for hit in match(asked, {})] == ["rest"]


def test_a_row_gives_each_condition_it_met_with_the_value_compared():
    row = Row(
        id="low",
        when={
            "clearance": between(4, 8),
            "roof_covering": frozenset({"tile", "slate"}),
        },
    )
    inputs = {"roof_covering": "slate", "steep": False, "clearance": 5 * INCH_NM}
    (hit,) = match(table("FIRST", row), inputs)
    assert list(hit.reasons) == [
        "roof_covering is slate; the row requires slate or tile",
        "clearance is 5 in; the row requires from 4 in to less than 8 in",
    ]


def test_a_hit_keeps_the_values_it_was_decided_on():
    inputs = {"roof_covering": "slate", "steep": True, "clearance": 0}
    (hit,) = match(table("FIRST", STEEP_SLATE), inputs)
    inputs["roof_covering"] = "metal"
    assert hit.reasons[0] == "roof_covering is slate; the row requires slate"
