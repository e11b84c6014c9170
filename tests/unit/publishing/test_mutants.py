"""Each threshold of a published rule set is noticed by its own examples when it moves by a hair."""

from __future__ import annotations

import copy
from fractions import Fraction
from functools import lru_cache
from itertools import product

import msgspec
import pytest
from gapwright.errors import GapwrightError
from gapwright.publishing.examples import judge_example
from gapwright.publishing.mutants import mutants, nudged
from gapwright.publishing.publish import judge
from gapwright.publishing.untested import Allowance, Work, laid_out_limits, try_mutants, untested
from gapwright.quantity.parse import length_nm
from gapwright.rulesets.build.build import build
from gapwright.rulesets.reader import Document, RuleFileError, read
from gapwright.rulesets.resolve import Resolved
from gapwright.rulesets.shelf import Shelf
from gapwright.rulesets.values import LAID_OUT, REQUIRED, VALUES

from tests.history import RULES as HISTORY
from tests.unit.make import baseline, baseline_text
from tests.unit.measures import IN

SHIPPED = Shelf(HISTORY)
NAMES = [record.name for versions in SHIPPED.ledger.values() for record in versions.values()]
LATEST = [list(versions.values())[-1].name for versions in SHIPPED.ledger.values()]
STEP_NM = IN // 64
ZONED_THERE = (("visible", "exposed"), ("overlap_length", "return_spacing"))
"""The zones of the first baseline, and the values that each of them says otherwise."""


@lru_cache(maxsize=8)
def rules_named(name):
    identifier, version = name.split("@")
    return SHIPPED.load(SHIPPED.ledger[identifier][version])


def rebuilt(content):
    """Return the rule set that plain content comes to."""
    document = Document(file="moved.yaml", tree=content, places={})
    return build(Resolved(content=content, documents=(document,)))


def plain(rules):
    """Return a rule set's content without ranges, which say nothing of a job."""
    content = copy.deepcopy(dict(rules.content))
    for entry in content["values"].values():
        entry.pop("allowed", None)
    return content


def in_nm(text, more):
    return f"{(length_nm(text) + more) / 1_000_000:.6f} mm"


def moved(raw):
    """Yield a threshold as it is written, a hair more and a hair less."""
    for way in (1, -1):
        if isinstance(raw, int):
            if raw + way > 0:
                yield raw + way
        elif raw.endswith(("%", "deg")):
            number, unit = raw.split()
            step = 1 if unit == "%" else 0.5
            if float(number) + way * step >= 0:
                yield f"{float(number) + way * step} {unit}"
        else:
            yield in_nm(raw, way * STEP_NM)


def at(content, path):
    for step in path:
        content = content[step]
    return content


def thresholds(rules):
    """Yield the path of each threshold that an example's answer can hang on, as it is written."""
    content = rules.content
    driven = {need["driver"] for item in content["bill"].values() for need in each_need(item)}
    for name, value in VALUES.items():
        idle = name in LAID_OUT or (name == "default_corners" and "corners" not in driven)
        idle = idle or (name == "mesh_opening" and not rules.values.snap_bends_to_wires)
        if not idle and value.kind not in ("flag", "lengths"):
            yield ("values", name, "value")
    for name, item in content["bill"].items():
        yield from bill_thresholds(("bill", name), item)
    for table, entry in content["tables"].items():
        for row, one in entry["rows"].items():
            for fact, condition in one.get("when", {}).items():
                if isinstance(condition, dict):
                    for end in condition:
                        yield ("tables", table, "rows", row, "when", fact, end)


def each_need(item):
    return item["estimate"].values()


def bill_thresholds(path, item):
    for need, entry in item["estimate"].items():
        if "one_per" in entry:
            yield (*path, "estimate", need, "one_per")
    for name in ("spare", "minimum"):
        if name in item:
            yield (*path, name)
    if "pack" in item:
        yield (*path, "pack", "pack_size")


def unnoticed(rules, paths):
    """Return the thresholds of which some move by a hair fails no example.

    They are moved in the content, which is built anew: nothing rests on the mutants' own code.
    """
    found = []
    for path in paths:
        noticed = []
        for value in moved(at(rules.content, path)):
            content = plain(rules)
            at(content, path[:-1])[path[-1]] = value
            noticed.append(noticed_by_any(rebuilt(content)))
        if not all(noticed) or not noticed:
            found.append(".".join(path))
    return found


@pytest.mark.parametrize("name", ["baseline@1.1.0"])
def test_a_hair_on_any_threshold_of_a_shipped_rule_set_is_noticed_by_its_own_examples(name):
    paths = list(thresholds(rules_named(name)))
    assert len(paths) > 20
    assert unnoticed(rules_named(name), paths) == []


def written_limits(rules):
    """Return the limits of layouts that the files of a rule set write themselves."""
    found = set()
    for document in rules.resolved.documents:
        if document.tree["id"] == rules.id:
            found |= {
                f"values.{name}" for name in LAID_OUT & document.tree.get("values", {}).keys()
            }
            for zone, entry in document.tree.get("zones", {}).items():
                found |= {f"zones.{zone}.values.{v}" for v in LAID_OUT & entry["values"].keys()}
    return found


@pytest.mark.parametrize("name", LATEST)
def test_the_latest_version_of_each_shipped_rule_set_answers_for_every_limit_that_it_writes(name):
    """That its examples test each of them is shown by `gapwright check`, in tests/rules."""
    rules = rules_named(name)
    assert laid_out_limits(rules, published=True) == written_limits(rules)


def test_the_latest_baseline_answers_for_every_limit_of_layouts():
    limits = laid_out_limits(rules_named(LATEST[0]), published=True)
    assert limits >= {f"values.{name}" for name in LAID_OUT}
    assert sum(limit.startswith("zones.") for limit in limits) >= 4


@pytest.mark.parametrize(
    "name", ["baseline@1.0.0", "baseline@1.2.0", "seacliff@1.1.0", "northmoor@1.0.0"]
)
def test_versions_from_before_examples_could_lay_out_are_excused_and_no_copy_of_them_is(name):
    rules = rules_named(name)
    assert laid_out_limits(rules, published=True) == frozenset()
    assert laid_out_limits(rules, published=False) == written_limits(rules)


def noticing(rules):
    """Return for each mutant which examples notice it, by path and words."""
    found = {}
    for mutant in mutants(rules):
        by = {name for name in rules.examples if notices(name, mutant.rules)}
        found[mutant.path, mutant.changed] = by
    return found


def noticed_by_any(rules):
    """Return whether some example fails; those that lay an array out take long, and come last."""
    quick_first = sorted(rules.examples, key=lambda name: "layout" in rules.examples[name].given)
    return any(notices(name, rules) for name in quick_first)


def notices(name, rules):
    """Return whether an example fails; a table that no longer answers fails it too."""
    try:
        return bool(judge_example(name, rules))
    except GapwrightError:
        return True


def with_examples(rules, names):
    kept = {name: entry for name, entry in rules.examples.items() if name in names}
    return msgspec.structs.replace(rules, examples=kept)


@lru_cache(maxsize=1)
def quick():
    """Return the baseline without the examples that lay an array out, which takes long."""
    examples = baseline().examples
    return with_examples(baseline(), {n for n, e in examples.items() if "layout" not in e.given})


@lru_cache(maxsize=1)
def quick_noticing():
    return noticing(quick())


def test_every_mutant_has_a_name_of_its_own_and_moves_something_else():
    found = list(mutants(baseline()))
    assert len({(mutant.path, mutant.changed) for mutant in found}) == len(found)
    assert all(len(mutant.path) >= 2 for mutant in found)


def test_mutants_are_tried_as_far_as_the_allowance_goes():
    rules = quick()
    everything = try_mutants(rules)
    assert (everything.tried, everything.limits) == (112, 112)
    assert len(everything.faults) == sum(1 for by in quick_noticing().values() if not by)
    nothing = try_mutants(rules, (), Allowance(1))
    assert (nothing.faults, nothing.tried, nothing.limits) == ((), 0, 112)
    tried = [try_mutants(rules, (), Allowance(left)) for left in (100, 200, 300, 100_000)]
    assert 0 < tried[0].tried < tried[1].tried < tried[2].tried < tried[3].tried
    assert tried[3] == everything
    for one in tried:
        assert one.faults == everything.faults[: len(one.faults)]


def test_a_layout_takes_more_work_the_more_modules_it_has():
    def work(rows):
        block = {"rows": rows, "columns": 10, "long_side": "66 in", "short_side": "40 in"}
        given = {"strip_width": "8 in", "layout": {"array": {"blocks": [block]}}}
        example = msgspec.structs.replace(baseline().examples["one_can"], given=given)
        return Work(msgspec.structs.replace(baseline(), examples={"x": example})).examples

    assert work(1) > 20
    assert work(1000) - work(10) == 99 * (work(20) - work(10))


def test_without_the_only_example_that_notices_a_limit_exactly_that_limit_is_untested():
    """What only a layout tells is told by none of the examples here."""
    assert sum({name} in quick_noticing().values() for name in quick().examples) > 15
    for name in list(quick().examples)[::9]:
        expected = [mutant for mutant, by in quick_noticing().items() if by <= {name}]
        faults = untested(with_examples(quick(), quick().examples.keys() - {name}))
        assert [fault.path for fault in faults] == [path for path, _ in expected]
        for fault, (_, changed) in zip(faults, expected, strict=True):
            assert fault.problem == f"No example fails if {changed}."
            assert fault.remedy


def test_a_published_file_without_such_an_example_is_refused_with_the_list_of_what_is_missing():
    text = baseline_text()
    for cut in ("takes_6_in", "min_web"):
        start = text.rindex(f"\n  {cut}:\n")
        text = text[:start] + text[text.index("\n  just_", start) :]
    expected = {
        ".".join(path)
        for (path, _), by in quick_noticing().items()
        if by and by <= {"takes_6_in", "min_web"}
    }
    assert expected
    counted = {
        "rings_per_overlap",
        "ties_per_overlap",
        "rails_per_row",
    }  # its bills counted from layouts tell these
    expected |= {f"values.{name}" for name in (LAID_OUT & set(REQUIRED)) - counted}
    zoned = {f"zones.{z}.values.{name}" for z, name in product(*ZONED_THERE)}
    with pytest.raises(RuleFileError) as caught:
        judge(read(text.encode(), "baseline/1.0.0.yaml"), Shelf(HISTORY))
    problems = caught.value.problems
    assert {problem.key for problem in problems} == expected | zoned
    lines = text.splitlines()
    for problem in problems:
        assert lines[problem.line - 1][problem.column - 1 :].startswith(problem.key.split(".")[-1])


def test_a_draft_may_leave_limits_untested():
    text = baseline_text()
    draft = text[: text.index("\nexamples:\n") + 1].replace("status: published", "status: draft")
    rules = judge(read(draft.encode(), "draft.yaml"), Shelf(HISTORY))
    assert len(untested(rules)) == sum(1 for _ in mutants(rules))


def test_the_ratios_of_a_zone_are_thresholds_too():
    paths = {mutant.path[:5] for mutant in mutants(baseline())}
    for item, need in (("screw", "fixing"), ("ring", "joining"), ("tie", "joining")):
        assert ("zones", "exposed", "bill", item, need) in paths


def test_the_values_of_a_zone_are_thresholds_too_and_only_the_zone_is_moved():
    limits = {f"zones.{zone}.values.{name}" for zone, name in product(*ZONED_THERE)}
    found = [
        m for m in mutants(baseline(), limits) if m.path[:1] + m.path[2:3] == ("zones", "values")
    ]
    assert {".".join(mutant.path) for mutant in found} == limits
    assert len(found) == 2 * len(limits)
    for mutant in found:
        _, zone, _, name = mutant.path
        before, after = baseline().zones[zone], mutant.rules.zones[zone]
        assert abs(getattr(after.values, name) - getattr(before.values, name)) == IN
        assert after.ratios == before.ratios
        assert mutant.rules.values == baseline().values
        others = mutant.rules.zones.keys() - {zone}
        assert all(mutant.rules.zones[one] is baseline().zones[one] for one in others)


def test_a_zone_value_that_bills_take_is_always_a_threshold():
    zone = baseline().zones["exposed"]
    values = msgspec.structs.replace(zone.values, waste_factor=Fraction(3, 10))
    changed = zone.changed | {"waste_factor"}
    zone = msgspec.structs.replace(zone, values=values, changed=changed)
    rules = msgspec.structs.replace(baseline(), zones={**baseline().zones, "exposed": zone})
    paths = [m.path for m in mutants(rules) if m.path[:1] + m.path[2:3] == ("zones", "values")]
    assert paths == [("zones", "exposed", "values", "waste_factor")] * 2


def test_a_quote_takes_more_work_than_a_small_call_and_the_more_the_more_it_lays_out():
    rules = rules_named("baseline@1.2.0")
    work = Work(rules)
    assert work.example("quote_of_the_ordinary_job") > 20 * work.example("ordinary_job")
    drawn = work.example("quote_of_a_drawn_array")
    assert (
        drawn > work.example("counted_with_rings") > work.example("quote_of_the_ordinary_job") / 2
    )
    quotes = {str(n): rules.examples["quote_of_a_drawn_array"] for n in range(10)}
    assert Work(msgspec.structs.replace(rules, examples=quotes)).examples == 10 * drawn


@pytest.mark.parametrize(
    ("name", "how", "changed"),
    [
        ("mesh_margin", "1/64 in more", {"mesh_margin": 2 * IN + STEP_NM}),
        ("mesh_margin", "1/64 in less", {"mesh_margin": 2 * IN - STEP_NM}),
        ("overlap_length", "a tape mark more", {"overlap_length": 7 * IN}),
        ("overlap_length", "a tape mark less", {"overlap_length": 5 * IN}),
        ("min_array_gap", "1/64 in less", {"min_array_gap": 12 * IN - STEP_NM}),
        ("rings_per_overlap", "1 more", {"rings_per_overlap": 5}),
        ("max_bend_angle", "half a degree less", {"max_bend_angle": 79.5}),
        ("snap_bends_to_wires", "the opposite", {"snap_bends_to_wires": True}),
        ("common_widths", "has no entry 2", {"common_widths": (6 * IN,)}),
    ],
)
def test_a_value_is_moved_by_a_hair_of_its_kind_wherever_no_zone_says_otherwise(name, how, changed):
    limits = {f"values.{one}" for one in LAID_OUT}
    (found,) = [
        m for m in mutants(baseline(), limits) if m.path == ("values", name) and how in m.changed
    ]
    assert found.rules.values == msgspec.structs.replace(baseline().values, **changed)
    for zone, entry in found.rules.zones.items():
        carried = {} if name in entry.changed else changed
        before = baseline().zones[zone].values
        assert entry.values == msgspec.structs.replace(before, **carried)


def test_a_value_of_nothing_is_only_moved_upward():
    assert list(nudged("length", 0)) == [("is 1/64 in more", STEP_NM)]
    assert list(nudged("share", Fraction(1, 200))) == [
        ("is a percentage point more", Fraction(3, 200)),
        ("is a percentage point less", 0),
    ]


def test_a_condition_that_is_dropped_from_a_need_is_a_mutant():
    path = ("bill", "tie", "estimate", "joining", "when")
    (found,) = [mutant for mutant in mutants(baseline()) if mutant.path == path]
    (tie,) = [item for item in found.rules.bill if item.id == "tie"]
    assert tie.needs[0].when == ()


def test_a_row_is_left_out_and_each_end_of_its_ranges_moved():
    path = ("tables", "suitability", "rows", "too_high")
    found = [mutant for mutant in mutants(baseline()) if mutant.path[:4] == path]
    assert [mutant.changed for mutant in found] == [
        "suitability.rows.too_high is left out",
        "suitability.rows.too_high.when.clearance.at_least is 1/64 in more",
        "suitability.rows.too_high.when.clearance.at_least is 1/64 in less",
    ]
    for mutant in found:
        table = mutant.rules.tables["suitability"]
        assert table.rows != baseline().tables["suitability"].rows
