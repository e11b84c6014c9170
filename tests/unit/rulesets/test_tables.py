"""A decision table answers with the rows that its hit policy lets decide, and says why."""

import pytest

from service.errors import BadInputError, GapwrightError
from service.rulesets.tables.lookup import candidates, compile_table, match
from service.rulesets.tables.model import Choice, Flag, HitPolicy, Range, Row, Span, Table

INCH_NM = 25_400_000


def inches(length_nm):
    return f"{length_nm / INCH_NM:g} in"


COVERING = Choice(name="covering", options=("slate", "tile", "shingle", "metal"))
STEEP = Flag(name="steep")
CLEARANCE = Span(name="clearance", least=0, below=40 * INCH_NM, tell=inches)


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


def deciding(compiled, covering="slate", steep=False, clearance_in=5):
    inputs = {"covering": covering, "steep": steep, "clearance": clearance_in * INCH_NM}
    return [hit.row.id for hit in match(compiled, inputs)]


LOW = Row(id="low", when={"clearance": (between(None, 8),)}, then="fits")
STEEP_SLATE = Row(id="steep slate", when={"covering": frozenset({"slate"}), "steep": True})
REST = Row(id="rest")


def test_first_lets_the_first_row_that_matches_decide():
    compiled = compile_table(table("FIRST", STEEP_SLATE, LOW, REST))
    assert deciding(compiled, steep=True) == ["steep slate"]
    assert deciding(compiled) == ["low"]
    assert deciding(compiled, clearance_in=9) == ["rest"]


def test_collect_lets_every_row_that_matches_decide_in_row_order():
    compiled = compile_table(table("COLLECT", REST, LOW, STEEP_SLATE))
    assert deciding(compiled, steep=True) == ["rest", "low", "steep slate"]
    assert deciding(compiled, steep=True, clearance_in=9) == ["rest", "steep slate"]


def test_priority_ranks_rows_by_output_value_and_equals_by_row_order():
    rows = (
        Row(id="usually", then="suitable"),
        Row(id="steep", when={"steep": True}, then="review"),
        Row(id="high", when={"clearance": (between(12, None),)}, then="unsuitable"),
        Row(id="higher", when={"clearance": (between(20, None),)}, then="unsuitable"),
    )
    order = ("unsuitable", "review", "suitable")
    compiled = compile_table(table("PRIORITY", *rows, output_values=order))
    assert deciding(compiled) == ["usually"]
    assert deciding(compiled, steep=True) == ["steep"]
    assert deciding(compiled, steep=True, clearance_in=12) == ["high"]
    assert deciding(compiled, clearance_in=30) == ["high"]
    inputs = {"covering": "tile", "steep": True, "clearance": 30 * INCH_NM}
    ranked = [hit.row.id for hit in candidates(compiled, inputs)]
    assert ranked == ["high", "higher", "steep", "usually"]


def test_priority_can_rank_by_an_output_value_beside_the_outcome():
    rows = (
        Row(id="plain", then={"margin": 1}, output_value="yes"),
        Row(id="steep", when={"steep": True}, then={"margin": 2}, output_value="no"),
    )
    compiled = compile_table(table("PRIORITY", *rows, output_values=("no", "yes")))
    assert deciding(compiled, steep=True) == ["steep"]


def test_unique_answers_with_its_only_row_and_refuses_to_choose_between_two():
    compiled = compile_table(table("UNIQUE", LOW, STEEP_SLATE))
    assert deciding(compiled) == ["low"]
    with pytest.raises(GapwrightError, match="suits is UNIQUE, but rows low and steep slate"):
        deciding(compiled, steep=True)


@pytest.mark.parametrize("policy", ["UNIQUE", "FIRST", "COLLECT"])
def test_where_no_row_matches_the_answer_is_empty(policy):
    assert deciding(compile_table(table(policy, LOW)), clearance_in=8) == []
    assert deciding(compile_table(table(policy))) == []


def test_a_range_holds_its_least_value_and_not_the_value_it_is_below():
    row = Row(id="middle", when={"clearance": (between(2, 4), between(6, 8))})
    compiled = compile_table(table("FIRST", row))

    def matches(clearance_nm):
        inputs = {"covering": "slate", "steep": True, "clearance": clearance_nm}
        return bool(match(compiled, inputs))

    inside = [2 * INCH_NM, 4 * INCH_NM - 1, 6 * INCH_NM, 8 * INCH_NM - 1]
    outside = [0, 2 * INCH_NM - 1, 4 * INCH_NM, 6 * INCH_NM - 1, 8 * INCH_NM]
    assert all(matches(value) for value in inside)
    assert not any(matches(value) for value in outside)


def test_a_span_without_ends_takes_any_whole_number():
    rows = (
        Row(id="minus", when={"offset": (Range(below=0),)}),
        Row(id="plus", when={"offset": (Range(least=10),)}),
    )
    compiled = compile_table(table("UNIQUE", *rows, dimensions=(Span(name="offset"),)))
    ids = [
        [hit.row.id for hit in match(compiled, {"offset": value})]
        for value in (-(10**30), -1, 0, 9, 10, 10**30)
    ]
    assert ids == [["minus"], ["minus"], [], [], ["plus"], ["plus"]]


def test_a_table_without_dimensions_is_looked_up_with_nothing():
    compiled = compile_table(table("FIRST", REST, dimensions=()))
    assert [hit.row.id for hit in match(compiled, {})] == ["rest"]


def test_a_row_gives_each_condition_it_met_with_the_value_compared():
    row = Row(
        id="low",
        when={
            "clearance": (between(None, 2), between(4, 8)),
            "covering": frozenset({"tile", "slate"}),
        },
    )
    inputs = {"covering": "slate", "steep": False, "clearance": 5 * INCH_NM}
    (hit,) = match(compile_table(table("FIRST", row)), inputs)
    assert [reason.text for reason in hit.reasons] == [
        "covering is slate; the row asks for slate or tile",
        "clearance is 5 in; the row asks for below 2 in or from 4 in to below 8 in",
    ]
    assert [reason.value for reason in hit.reasons] == ["slate", 5 * INCH_NM]


def test_a_hit_keeps_the_values_it_was_decided_on():
    inputs = {"covering": "slate", "steep": True, "clearance": 0}
    (hit,) = match(compile_table(table("FIRST", STEEP_SLATE)), inputs)
    inputs["covering"] = "metal"
    assert hit.reasons[0].told == "slate"


def faults_of(call, *args):
    with pytest.raises(BadInputError) as caught:
        call(*args)
    return {fault.path: fault.detail for fault in caught.value.faults}


def test_inputs_are_refused_with_every_fault_at_once():
    compiled = compile_table(table("FIRST", REST))
    wrong = {"covering": "slaet", "clearance": 40 * INCH_NM, "stepe": True}
    assert faults_of(match, compiled, wrong) == {
        ("stepe",): "There is no dimension 'stepe'. Did you mean 'steep'?",
        ("covering",): "There is no option 'slaet'. Did you mean 'slate'?",
        ("steep",): "It is missing. Give true or false.",
        ("clearance",): "40 in is outside its domain. "
        "Give a whole number, from 0 in to below 40 in.",
    }


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("covering", 1),
        ("covering", ["slate"]),
        ("covering", None),
        ("steep", 1),
        ("steep", "true"),
        ("clearance", 1.0),
        ("clearance", True),
        ("clearance", -1),
        ("clearance", 40 * INCH_NM),
    ],
)
def test_a_value_outside_the_domain_is_refused(name, value):
    compiled = compile_table(table("FIRST", REST))
    good = {"covering": "slate", "steep": True, "clearance": 0}
    assert match(compiled, good)
    assert list(faults_of(match, compiled, good | {name: value})) == [(name,)]


def test_an_input_beyond_the_dimensions_is_refused():
    compiled = compile_table(table("FIRST", REST, dimensions=(STEEP,)))
    faults = faults_of(match, compiled, {"steep": True, "pitch": 4})
    assert faults == {("pitch",): "There is no dimension 'pitch'. Known: steep."}


def test_rows_are_refused_with_every_fault_at_once():
    rows = (
        Row(id="one", when={"coverin": frozenset({"slate"}), "steep": frozenset({"true"})}),
        Row(id="two", when={"covering": frozenset({"slate", "tiles", "gravel"})}),
        Row(id="three", when={"clearance": (Range(least=1.5),)}),
        Row(id="three", when={"clearance": frozenset({"low"}), "covering": True}),
    )
    assert faults_of(compile_table, table("FIRST", *rows)) == {
        ("three",): "Two rows have this id. Give each row its own.",
        (
            "one",
            "when",
            "coverin",
        ): "There is no dimension 'coverin'. Did you mean 'covering'?",
        ("one", "when", "steep"): "This condition does not fit it. Give true or false.",
        ("two", "when", "covering"): "There is no option 'tiles'. Did you mean 'tile'?",
        ("three", "when", "clearance"): "This condition does not fit it. "
        "Give ranges of whole numbers.",
        ("three", "when", "covering"): "This condition does not fit it. Give a set of options.",
    }


def test_each_unknown_option_is_a_fault_of_its_own():
    row = Row(id="two", when={"covering": frozenset({"slate", "tiles", "gravel"})})
    with pytest.raises(BadInputError) as caught:
        compile_table(table("FIRST", row))
    assert [fault.detail for fault in caught.value.faults] == [
        "There is no option 'gravel'. Known: slate, tile, shingle and metal.",
        "There is no option 'tiles'. Did you mean 'tile'?",
    ]


def test_dimensions_need_a_name_of_their_own_and_a_value():
    dimensions = (
        STEEP,
        STEEP,
        Choice(name="covering", options=()),
        Choice(name="racking", options=("railed", "railed")),
        Span(name="clearance", least=3, below=3),
    )
    assert faults_of(compile_table, table("FIRST", dimensions=dimensions)) == {
        ("dimensions", "steep"): "Two dimensions have this name.",
        ("dimensions", "covering"): "It has no value at all.",
        ("dimensions", "racking"): "It lists railed twice.",
        ("dimensions", "clearance"): "It has no value at all.",
    }


def test_priority_needs_output_values_and_rows_that_keep_to_them():
    assert list(faults_of(compile_table, table("PRIORITY", REST))) == [("output_values",)]
    rows = (Row(id="a", then="yes"), Row(id="b", then="nno"), Row(id="c", then=3))
    order = ("no", "yes", "yes")
    faults = faults_of(compile_table, table("PRIORITY", *rows, output_values=order))
    assert faults == {
        ("output_values",): "'yes' is listed twice.",
        ("b", "then"): "There is no output value 'nno'. Did you mean 'no'?",
        ("c", "then"): "There is no output value '3'. Known: no, yes and yes.",
    }
