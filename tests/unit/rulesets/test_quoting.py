"""What a rule file says for quotes: assumptions, work, surcharges and the mesh."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from gapwright.facts import Racking
from gapwright.places import shipped
from gapwright.rulesets.build.build import RULE_SETS, build, digest
from gapwright.rulesets.overlay import OPTIONAL, lay
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.resolve import resolve
from gapwright.rulesets.shelf import Shelf
from gapwright.rulesets.values import VALUES
from gapwright.rulesets.vocabulary import ASSUMED

from tests.history import RULES as HISTORY
from tests.unit.make import baseline, house_text, problems_of, rules_of
from tests.unit.measures import IN

SAID = {"description": "m", "source": "from-memory"}
CREW = {"value": 2, "low": 2, "high": 3, **SAID}
LONG = {"value": "69 in", "low": "62 in", "high": "82 in", **SAID}
DAY = {"value": "8 h", "low": "6 h", "high": "10 h", **SAID}
FIT = {"driver": "perimeter", "one_per": "10 ft", "time": "20 min"}
TASK = {"estimate": {"running": FIT}, **SAID}
STEEP = {"share": "25 %", "when": {"pitch": "steep"}, **SAID}
MESH = {
    "wire": {"value": "0.0625 in", **SAID},
    "density": {"value": "490 lb/ft³", **SAID},
    "coating": {"value": "8 %", **SAID},
}
ALL = {
    "assumptions": {"crew": CREW, "module_long": LONG, "working_day": DAY},
    "work": {"fit": TASK},
    "labor_factors": {"steep": STEEP},
    "mesh": MESH,
}


def written(**sections):
    """Return the house file with sections at its end."""
    more = [f"{name}: {json.dumps(part, ensure_ascii=False)}\n" for name, part in sections.items()]
    return "\n".join([house_text().rstrip(), *more])


def laid_over(base, body):
    """Return what an overlay of a base makes, both as text."""
    head = "id: own\nversion: 1.0.0\neffective: 2026-12-01\nstatus: draft\ntitle: t\nchange: c\n"
    document = read(f"{head}approved_by: n\nbased_on: baseline@1.0.0\n{body}".encode(), "own.yaml")
    found = resolve(
        document, {"baseline@1.0.0": read(base.encode(), "base.yaml")}.__getitem__, RULE_SETS
    )
    found.refuse_changes()
    return found


def told(**sections):
    return {problem.key: problem for problem in problems_of(written(**sections))}


def test_a_file_without_these_sections_says_nothing_of_them():
    rules = baseline()
    assert (dict(rules.assumptions), rules.work, rules.labor_factors, rules.mesh) == (
        {},
        (),
        (),
        None,
    )
    assert not set(OPTIONAL) & set(rules.content)


def test_assumptions_are_read_by_their_kinds_with_their_range_and_rule():
    found = rules_of(written(**ALL)).assumptions
    crew, module, day = (found[name] for name in ("crew", "module_long", "working_day"))
    assert (crew.value, crew.least, crew.most) == (2, 2, 3)
    assert (module.value, module.least, module.most) == (69 * IN, 62 * IN, 82 * IN)
    assert (day.value, day.least, day.most) == (480, 360, 600)
    assert [one.rule for one in found.values()] == [f"assumptions.{name}" for name in found]


def test_there_is_a_clearance_to_assume_for_every_racking():
    for racking in Racking.__args__:
        assert ASSUMED[f"clearance_{racking}"].kind == "length"


def test_a_task_has_its_reasons_by_part_and_a_layout_counts_as_the_estimate_where_not_told():
    (task,) = rules_of(written(**ALL)).work
    (effort,) = task.estimated
    assert (effort.driver, effort.minutes, effort.one_per) == ("perimeter", 20, 120 * IN)
    assert task.counted is task.estimated
    assert effort.rule == "work.fit.estimate.running"
    whole = {"job": {"coming": {"driver": "job", "time": "1 h"}}, **SAID}
    (task,) = rules_of(written(work={"set_up": whole})).work
    assert (task.job[0].minutes, task.estimated, task.counted) == (60, (), ())


def test_a_labor_factor_has_its_share_and_conditions():
    (steep,) = rules_of(written(**ALL)).labor_factors
    assert steep.share == Fraction(1, 4)
    assert steep.when == (("pitch", frozenset({"steep"})),)


def test_the_mesh_takes_its_spacing_from_the_values():
    rules = rules_of(written(**ALL))
    assert rules.mesh.wire_nm == IN // 16
    assert rules.mesh.spacing_nm == rules.values.mesh_opening == IN // 2
    assert rules.mesh.coating == Fraction(2, 25)
    assert "spacing" not in VALUES


FAULTS = [
    ("assumptions", {"crw": CREW}, "crw", "Unknown", "mean 'crew'?"),
    ("assumptions", {"crew": {**CREW, "value": 4}}, "crew.value", "low-to-high range", "2 to 3"),
    ("assumptions", {"crew": {**CREW, "low": 1}}, "crew.low", "out of range", "from 2 to 50"),
    ("assumptions", {"crew": {**CREW, "high": "3"}}, "crew.high", '"3"', "whole number"),
    (
        "assumptions",
        {"crew": {**CREW, "description": ""}},
        "crew.description",
        'got ""',
        "at least 1",
    ),
    ("assumptions", {"crew": {**CREW, "source": "x"}}, "crew.source", "Unknown source", ""),
    ("assumptions", {"module_long": CREW}, "module_long.value", "number 2", "6 in"),
    ("assumptions", {"rows": {**CREW, "low": 0}}, "rows.low", "out of range", "from 1 to 1000"),
    (
        "assumptions",
        {"module_long": {**LONG, "low": "83 in"}},
        "module_long.value",
        "range",
        "83 in",
    ),
    (
        "assumptions",
        {"working_day": {**DAY, "low": "0 h"}},
        "working_day.low",
        "out of range",
        "1 h",
    ),
    (
        "assumptions",
        {"working_day": {**DAY, "high": "25 h"}},
        "working_day.high",
        "out of range",
        "24 h",
    ),
    ("assumptions", {"working_day": {**DAY, "value": "8 in"}}, "working_day.value", "time", "min"),
    ("work", {"fit": SAID}, "fit", "takes no time", "estimate"),
    ("work", {"fit": {**TASK, "when": {"bending": "foot"}}}, "fit.when.bending", "foot", "hand"),
    (
        "work",
        {"fit": {**TASK, "when": {"bendng": "hand"}}},
        "fit.when.bendng",
        "Unknown fact",
        "bending",
    ),
    ("labor_factors", {"steep": {**STEEP, "share": "25"}}, "steep.share", "no unit", "20 %"),
    ("labor_factors", {"steep": {**STEEP, "share": "-5 %"}}, "steep.share", "negative", "20 %"),
    (
        "labor_factors",
        {"steep": {**STEEP, "when": {"stories": 2}}},
        "steep.when.stories",
        "number 2",
        "",
    ),
    ("mesh", {"wire": MESH["wire"]}, "density", "missing", "lb/ft³"),
    ("mesh", {}, "wire", "missing", "6 in"),
    ("mesh", {**MESH, "colour": MESH["wire"]}, "colour", "Unknown property", ""),
    ("mesh", {**MESH, "wire": {"value": "1/2 in", **SAID}}, "wire.value", "fit", "thinner"),
    ("mesh", {**MESH, "wire": {"value": "0 in", **SAID}}, "wire.value", "out of range", "to 1 in"),
    ("mesh", {**MESH, "density": {"value": "490 lb", **SAID}}, "density.value", "mass", "lb/ft³"),
    (
        "mesh",
        {**MESH, "coating": {"value": "101 %", **SAID}},
        "coating.value",
        "out of range",
        "100 %",
    ),
]


@pytest.mark.parametrize(("section", "entries", "key", "problem", "remedy"), FAULTS)
def test_a_fault_is_told_with_its_key_what_is_wrong_and_what_to_write(
    section, entries, key, problem, remedy
):
    found = told(**{section: entries})[f"{section}.{key}"]
    assert problem in found.problem
    assert remedy in f"{found.problem} {found.remedy}"


EFFORTS = [
    ({**FIT, "driver": "perimetre"}, "driver", "Unknown driver", "mean 'perimeter'?"),
    ({**FIT, "driver": "pieces"}, "driver", "Unknown driver 'pieces'", ""),
    ({**FIT, "driver": "job"}, "driver", "Unknown driver 'job'", ""),
    ({**FIT, "one_per": "0 ft"}, "one_per", "out of range", "to 20000 ft"),
    ({**FIT, "one_per": 3}, "one_per", "number 3", "6 in"),
    ({"driver": "perimeter", "time": "1 min"}, "one_per", "is required", "6 ft"),
    ({**FIT, "time": "0 min"}, "time", "out of range", "from 1 s"),
    ({**FIT, "time": 20}, "time", "number 20", "12 min"),
    ({**FIT, "time": "20 in"}, "time", "measures length", "12 min"),
    ({**FIT, "when": {"pitch": "mild"}}, "when.pitch", "mild", ""),
]


@pytest.mark.parametrize(("entry", "key", "problem", "remedy"), EFFORTS)
def test_a_fault_in_a_rate_is_told_where_it_stands(entry, key, problem, remedy):
    found = told(work={"fit": {**TASK, "estimate": {"running": entry}}})
    at = found[f"work.fit.estimate.running.{key}"]
    assert problem in at.problem
    assert remedy in f"{at.problem} {at.remedy}"


def test_all_faults_of_all_sections_are_told_at_once():
    found = told(
        assumptions={"crew": {**CREW, "value": 9}},
        work={"fit": {**TASK, "source": "nowhere"}},
        labor_factors={"steep": {**STEEP, "share": "x"}},
        mesh={"wire": MESH["wire"]},
    )
    assert set(found) == {
        "assumptions.crew.value",
        "work.fit.source",
        "labor_factors.steep.share",
        "mesh.density",
        "mesh.coating",
    }


ODD = [None, 3, 0, -1, 1.5, True, "", "x", [], {}, [None], {"a": None}, "4 in", "20 %", "8 h"]
ODD += [{"from": "1 in"}, "a" * 3000, {"A B": 1}, 1e300, "9**9**9 h", "490 lb/ft³"]


def test_an_overlay_moves_an_assumption_and_keeps_its_meaning():
    body = "assumptions: {crew: {value: 3}}\nmesh: {coating: {value: 10 %}}\n"
    rules = build(laid_over(written(**ALL), body))
    assert rules.assumptions["crew"].value == 3
    assert rules.assumptions["crew"].description == "m"
    assert (rules.mesh.coating, rules.mesh.wire_nm) == (Fraction(1, 10), IN // 16)


def test_an_overlay_replaces_a_task_whole_adds_others_below_and_drops_what_it_names():
    own = json.dumps({"count": {"a": {"driver": "tabs", "time": "1 min"}}, **SAID})
    body = f"work: {{own: {own}, fit: {own}}}\n"
    body += "remove: {labor_factors: [steep], assumptions: [crew]}\n"
    rules = build(laid_over(written(**ALL), body))
    assert [task.id for task in rules.work] == ["fit", "own"]
    assert rules.work[0].estimated == ()
    assert rules.labor_factors == ()
    assert set(rules.assumptions) == {"module_long", "working_day"}


def test_an_overlay_that_adds_half_an_assumption_is_told_what_is_missing():
    with pytest.raises(RuleFileError) as caught:
        build(laid_over(house_text(), "assumptions: {crew: {value: 3}}\n"))
    keys = {problem.key for problem in caught.value.problems}
    assert {"assumptions.crew.low", "assumptions.crew.high", "assumptions.crew.description"} <= keys


def test_an_overlay_drops_no_task_that_is_not_there():
    with pytest.raises(RuleFileError, match="Cannot remove 'fitt'"):
        laid_over(written(**ALL), "remove: {work: [fitt]}\n")


def test_what_no_file_writes_enters_neither_the_content_nor_the_digest():
    base = read(house_text().encode(), "f").tree
    laid = lay(base, {"id": "own"})
    assert not set(OPTIONAL) & set(laid)
    assert set(OPTIONAL) & set(lay(base, {"id": "own", "work": {}})) == {"work"}


def test_the_order_of_tasks_and_of_labor_factors_counts_and_that_of_assumptions_does_not():
    def of(section, *names):
        return digest({section: {name: {} for name in names}})

    for section in ("work", "labor_factors"):
        assert of(section, "a", "b") != of(section, "b", "a")
    for section in ("assumptions", "mesh"):
        assert of(section, "a", "b") == of(section, "b", "a")


@pytest.mark.parametrize("folder", [shipped("rules"), HISTORY], ids=["shipped", "history"])
def test_each_version_has_the_digest_of_its_ledger_line(folder):
    shelf = Shelf(folder)
    records = [record for versions in shelf.ledger.values() for record in versions.values()]
    assert records
    assert [shelf.load(record).digest for record in records] == [one.digest for one in records]


@pytest.mark.parametrize("name", ["baseline@1.0.0", "seacliff@1.0.0", "northmoor-coast@1.0.0"])
def test_a_version_without_the_optional_sections_has_none_in_its_content(name):
    shelf = Shelf(HISTORY)
    rules = shelf.load(shelf.find(name))
    assert not set(OPTIONAL) & set(rules.content)
