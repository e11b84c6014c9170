"""A proof finds each gap, overlap and dead row of a table, and nothing that is not there."""

from itertools import combinations, product
from random import Random

import pytest
from gapwright.rulesets.proof import prove
from gapwright.rulesets.tables import Dimension, HitPolicy, Range, Row, Table, match

INCH_NM = 25_400_000
RANKED = ("no", "review", "yes")


def inches(length_nm):
    return f"{length_nm / INCH_NM:g} in"


COVERING = Dimension(
    name="roof_covering", options=("slate", "tile", "shingle", "metal", "membrane")
)
RACKING = Dimension(name="racking", options=("rail_mounted", "rail-free"))
STEEP = Dimension(name="steep", options=(False, True))
CLEARANCE = Dimension(name="clearance", describe=inches)
ALL = (COVERING, RACKING, STEEP, CLEARANCE)


def clearance(least_in, below_in):
    least = None if least_in is None else least_in * INCH_NM
    return Range(least=least, below=None if below_in is None else below_in * INCH_NM)


YES, NO = frozenset({True}), frozenset({False})


def covered(*options):
    return frozenset(options)


def proof(policy, *rows, dimensions=ALL, output_values=()):
    table = Table(
        name="suits",
        dimensions=dimensions,
        rows=rows,
        policy=HitPolicy(policy),
        output_values=output_values,
    )
    return prove(table)


def texts(found):
    return tuple(finding.text for finding in found)


def of_kind(found, kind):
    return [finding for finding in found if finding.kind == kind]


def test_a_gap_is_told_by_the_dimensions_that_matter():
    rows = (
        Row(id="low", when={"clearance": clearance(None, 8)}),
        Row(id="rest", when={"roof_covering": covered("tile", "shingle", "metal", "membrane")}),
        Row(id="free", when={"racking": covered("rail-free")}),
    )
    found = proof("FIRST", *rows)
    assert texts(found) == (
        "no row covers roof_covering = slate, racking = rail_mounted, clearance 8 in or more",
    )
    (gap,) = of_kind(found, "gap")
    assert gap.box == {
        "roof_covering": covered("slate"),
        "racking": covered("rail_mounted"),
        "clearance": clearance(8, None),
    }
    assert found


def test_a_gap_names_as_few_dimensions_as_will_do():
    rows = (
        Row(id="metal", when={"roof_covering": covered("metal", "shingle", "membrane")}),
        Row(id="steep tile", when={"roof_covering": covered("tile", "metal"), "steep": YES}),
    )
    assert texts(proof("FIRST", *rows)) == (
        "no row covers roof_covering = slate",
        "no row covers roof_covering = tile, steep = false",
    )


def test_a_gap_at_either_end_of_a_span_is_told_apart():
    found = proof("UNIQUE", Row(id="middle", when={"clearance": clearance(2, 8)}))
    assert set(texts(found)) == {
        "no row covers clearance less than 2 in",
        "no row covers clearance 8 in or more",
    }


def test_a_gap_of_all_options_but_one_is_told_by_that_one():
    found = proof("COLLECT", Row(id="slate", when={"roof_covering": covered("slate")}))
    assert texts(found) == ("no row covers roof_covering = anything except slate",)


def test_a_gap_of_a_single_number_is_told_as_such():
    turns = Dimension(name="turns")
    rows = (
        Row(id="few", when={"turns": Range(below=2)}),
        Row(id="many", when={"turns": Range(least=3)}),
    )
    assert texts(proof("FIRST", *rows, dimensions=(turns,))) == ("no row covers turns exactly 2",)


def test_ends_that_read_the_same_are_told_with_their_numbers():
    rows = (
        Row(id="low", when={"clearance": Range(below=100 * INCH_NM)}),
        Row(id="high", when={"clearance": Range(least=100 * INCH_NM + 3)}),
    )
    rough = Dimension(name="clearance", describe=lambda length_nm: f"{length_nm // INCH_NM} in")
    assert texts(proof("FIRST", *rows, dimensions=(rough,))) == (
        "no row covers clearance from 100 in (2540000000) to less than 100 in (2540000003)",
    )


def test_two_rows_of_a_unique_table_that_match_together_are_told_with_all_they_share():
    rows = (
        Row(id="a", when={"roof_covering": covered("slate", "tile"), "steep": YES}),
        Row(id="b", when={"roof_covering": covered("slate", "metal"), "steep": YES}),
        Row(id="c", when={"steep": NO}),
        Row(id="d", when={"roof_covering": covered("shingle", "membrane"), "steep": YES}),
    )
    found = proof("UNIQUE", *rows)
    assert texts(found) == ("rows a and b both match roof_covering = slate, steep = true",)
    (overlap,) = of_kind(found, "overlap")
    assert overlap.rows == ("a", "b")
    assert overlap.box == {"roof_covering": covered("slate"), "steep": YES}


def test_only_a_unique_table_minds_overlaps():
    rows = (Row(id="a", when={"steep": YES}), Row(id="b"))
    assert texts(proof("UNIQUE", *rows)) == ("rows a and b both match steep = true",)
    assert not proof("FIRST", *rows)
    assert not proof("COLLECT", *rows)


def test_a_row_that_earlier_rows_cover_together_never_decides():
    rows = (
        Row(id="a", when={"clearance": clearance(None, 6)}),
        Row(id="b", when={"clearance": clearance(5, 12), "steep": YES}),
        Row(id="unrelated", when={"steep": NO, "roof_covering": covered("metal")}),
        Row(id="c", when={"clearance": clearance(2, 10), "steep": YES}),
        Row(id="rest"),
    )
    found = proof("FIRST", *rows)
    assert texts(found) == ("row c never applies: rows a and b cover it",)
    (dead,) = of_kind(found, "dead row")
    assert (dead.rows, dead.by, dead.box) == (("c",), ("a", "b"), rows[3].when)


def test_a_row_after_one_that_matches_everything_never_decides():
    found = proof("FIRST", Row(id="rest"), Row(id="late", when={"steep": YES}))
    assert texts(found) == ("row late never applies: row rest covers it",)


def test_under_priority_a_row_is_dead_where_better_values_or_earlier_equals_always_win():
    rows = (
        Row(id="usually", output_value="yes"),
        Row(id="steep", when={"steep": YES}, output_value="review"),
        Row(
            id="steep slate",
            when={"steep": YES, "roof_covering": covered("slate")},
            output_value="review",
        ),
        Row(id="high", when={"clearance": clearance(9, None)}, output_value="no"),
        Row(
            id="higher",
            when={"clearance": clearance(12, None), "steep": YES},
            output_value="review",
        ),
        Row(id="never", when={"steep": NO, "clearance": clearance(20, None)}, output_value="yes"),
    )
    assert texts(proof("PRIORITY", *rows, output_values=RANKED)) == (
        "row steep slate never applies: row steep takes precedence wherever it matches",
        "row higher never applies: row high takes precedence wherever it matches",
        "row never never applies: row high takes precedence wherever it matches",
    )


@pytest.mark.parametrize("policy", ["UNIQUE", "FIRST", "COLLECT"])
def test_a_condition_that_nothing_meets_makes_a_row_dead(policy):
    rows = (
        Row(id="none", when={"roof_covering": frozenset()}),
        Row(id="turned", when={"clearance": clearance(8, 6), "steep": YES}),
        Row(id="empty", when={"clearance": clearance(8, 8)}),
        Row(id="below", when={"clearance": clearance(-3, 0), "racking": frozenset()}),
        Row(id="rest"),
    )
    assert texts(proof(policy, *rows)) == (
        "row none never applies: nothing meets its condition on roof_covering",
        "row turned never applies: nothing meets its condition on clearance",
        "row empty never applies: nothing meets its condition on clearance",
        "row below never applies: nothing meets its condition on racking or clearance",
    )


@pytest.mark.parametrize("policy", list(HitPolicy))
def test_a_table_without_rows_covers_nothing(policy):
    found = proof(policy, output_values=RANKED)
    assert texts(found) == ("no row covers any input",)
    assert found[0].box == {}
    assert not of_kind(found, "more")


def test_a_table_without_dimensions_needs_one_row_and_uses_no_other():
    assert texts(proof("FIRST", dimensions=())) == ("no row covers any input",)
    assert not proof("COLLECT", Row(id="a"), Row(id="b"), dimensions=())
    twice = (Row(id="a"), Row(id="b"))
    assert texts(proof("UNIQUE", *twice, dimensions=())) == ("rows a and b both match every input",)
    assert texts(proof("FIRST", *twice, dimensions=())) == ("row b never applies: row a covers it",)


def test_at_most_so_many_gaps_are_listed_and_more_are_mentioned():
    def odd(turns):
        return Row(id=f"{turns}", when={"turns": Range(least=turns, below=turns + 1)})

    turns = Dimension(name="turns")
    found = proof("UNIQUE", *map(odd, range(1, 21, 2)), dimensions=(turns,))
    assert len(of_kind(found, "gap")) == 10
    assert of_kind(found, "more")


def test_exactly_ten_gaps_are_all_of_them():
    turns = Dimension(name="turns")
    rows = [Row(id=f"{n}", when={"turns": Range(least=n, below=n + 1)}) for n in range(0, 20, 2)]
    found = proof("UNIQUE", *rows, dimensions=(turns,))
    assert len(of_kind(found, "gap")) == 10
    assert not of_kind(found, "more")


def test_at_most_so_many_overlaps_are_listed_and_more_are_mentioned():
    found = proof("UNIQUE", *(Row(id=f"{number}") for number in range(16)))
    assert [overlap.rows for overlap in found[:2]] == [("0", "1"), ("0", "2")]
    assert len(of_kind(found, "overlap")) == 100
    assert of_kind(found, "more")


def test_a_table_with_too_many_combinations_is_refused_before_any_is_tried():
    dimensions = tuple(
        Dimension(name=f"fact {number}", options=(False, True)) for number in range(21)
    )
    found = proof("FIRST", Row(id="rest"), dimensions=dimensions)
    assert texts(found) == (
        "its conditions make 2,097,152 combinations; at most 2,000,000 are checked",
    )
    assert found[0].kind == "too large"
    assert found
    assert not proof("FIRST", Row(id="rest"), dimensions=dimensions[1:])


def test_a_table_with_too_many_rows_is_refused():
    rows = [Row(id=f"{number}") for number in range(1_001)]
    assert texts(proof("COLLECT", *rows)) == (
        "the table has 1,001 rows; at most 1,000 are checked",
    )
    assert not proof("COLLECT", *rows[1:])
    dimensions = tuple(
        Dimension(name=f"fact {number}", options=(False, True)) for number in range(20)
    )
    assert texts(proof("COLLECT", *rows[:400], dimensions=dimensions)) == (
        "its conditions make 1,048,576 combinations; of these, 95 rows are checked",
    )


def meets(value, condition):
    if isinstance(condition, frozenset):
        return value in condition
    above = condition.least is None or value >= condition.least
    return above and (condition.below is None or value < condition.below)


def inside(inputs, box):
    return all(meets(inputs[name], condition) for name, condition in box.items())


def values_of(dimension):
    """Return every option of a dimension; of a number those that the drawn rows tell apart."""
    return dimension.options or range(7)


def inputs_of(dimensions):
    names = [dimension.name for dimension in dimensions]
    for values in product(*map(values_of, dimensions)):
        yield dict(zip(names, values, strict=True))


def draw_dimension(random, name):
    options = random.choice([(False, True), tuple("abcd"[: random.randint(1, 4)]), (), ()])
    return Dimension(name=name, options=options)


def draw_condition(random, dimension):
    if dimension.options:
        keen = random.choice([0.4, 0.8])
        return frozenset(option for option in dimension.options if random.random() < keen)
    ends = [None, *range(-1, 7)]
    return Range(least=random.choice(ends), below=random.choice(ends))


def draw_table(random, policy):
    dimensions = [draw_dimension(random, f"d{place}") for place in range(random.randint(0, 4))]
    keen = random.choice([0.3, 0.6, 1.0])
    rows = [
        Row(
            id=f"r{number}",
            when={
                dimension.name: draw_condition(random, dimension)
                for dimension in dimensions
                if random.random() < keen
            },
            output_value=random.choice(RANKED),
        )
        for number in range(random.choice([0, 1, 2, 4, 8, 14]))
    ]
    return Table(
        name="drawn",
        dimensions=tuple(dimensions),
        rows=tuple(rows),
        policy=policy,
        output_values=RANKED if policy is HitPolicy.PRIORITY else (),
    )


def winners(table, ids):
    """Return the rows that decide out of those that match, by the policy's own words."""
    rows = [row for row in table.rows if row.id in ids]
    if table.policy is HitPolicy.FIRST:
        rows = rows[:1]
    if table.policy is HitPolicy.PRIORITY:
        best = min((RANKED.index(row.output_value) for row in rows), default=0)
        rows = [row for row in rows if row.output_value == RANKED[best]][:1]
    return [row.id for row in rows]


def check_gaps(found, matched):
    open_points = [inputs for inputs, ids in matched if not ids]
    boxes = [finding.box for finding in of_kind(found, "gap")]
    assert bool(boxes) == bool(open_points)
    told = [sum(inside(inputs, box) for box in boxes) for inputs in open_points]
    assert max(told, default=0) <= 1
    assert bool(of_kind(found, "more")) == (0 in told)
    for box in boxes:
        assert any(inside(inputs, box) for inputs in open_points)
        assert not any(inside(inputs, box) for inputs, ids in matched if ids)
    for name in boxes[0] if boxes else ():
        wider = {other: side for other, side in boxes[0].items() if other != name}
        assert any(inside(inputs, wider) for inputs, ids in matched if ids)


def check_dead(table, found, matched):
    deciding = {name for _, ids in matched for name in winners(table, ids)}
    assert [finding.rows[0] for finding in of_kind(found, "dead row")] == [
        row.id for row in table.rows if row.id not in deciding
    ]
    for finding in of_kind(found, "dead row"):
        own = [ids for _, ids in matched if finding.rows[0] in ids]
        assert all(ids & set(finding.by) for ids in own)
        for ids in own:
            assert winners(table, ids)[0] != finding.rows[0]
        for left_out in finding.by:
            assert any(not ids & (set(finding.by) - {left_out}) for ids in own)
        for name in finding.by:
            assert winners(table, {name, finding.rows[0]}) == [name]


def check_overlaps(table, found, matched):
    pairs = {pair for _, ids in matched for pair in combinations(sorted(ids, key=number), 2)}
    wanted = sorted(pairs, key=lambda pair: tuple(map(number, pair)))
    assert [finding.rows for finding in of_kind(found, "overlap")] == (
        wanted if table.policy is HitPolicy.UNIQUE else []
    )
    for finding in of_kind(found, "overlap"):
        for inputs, ids in matched:
            assert inside(inputs, finding.box) == ids.issuperset(finding.rows)


def number(row_id):
    return int(row_id[1:])


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("policy", list(HitPolicy))
def test_proofs_agree_with_trying_every_input(policy, seed):
    random = Random(f"{policy} {seed}")
    for _ in range(60):
        table = draw_table(random, policy)
        matched = [
            (inputs, {row.id for row in table.rows if inside(inputs, row.when)})
            for inputs in inputs_of(table.dimensions)
        ]
        found = prove(table)
        check_gaps(found, matched)
        check_dead(table, found, matched)
        check_overlaps(table, found, matched)
        for inputs, ids in random.sample(matched, min(20, len(matched))):
            if policy is not HitPolicy.UNIQUE or len(ids) < 2:
                assert [hit.row.id for hit in match(table, inputs)] == winners(table, ids)
