"""Each kind of fault in a rule file is told with file, line, key path, problem and remedy."""

from __future__ import annotations

import json
import random

import pytest
from gapwright.rulesets.build.build import build
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY
from tests.unit.make import edited, house_text, problems_of, spoiled


def keys(problems):
    return [problem.key for problem in problems]


def told(problems, key):
    """Return the one problem that is told of a key."""
    (found,) = [problem for problem in problems if problem.key == key]
    return found


def test_the_file_that_the_others_are_made_from_is_sound():
    assert problems_of(house_text()) == ()


FAULTS = {
    "": """
        effective: 2026-01-01 | effective: 2026-02-30 | effective | 2026-02-30 | a date
        effective: 2026-01-01 | effective: 1 January 2026 | effective | 1 January | 2026-01-31
        version: 1.0.0 | version: 1.0 | version | 1.0 | such as 1.0.0
        version: 1.0.0 | version: 01.0.0 | version | 01.0.0 | such as 1.0.0
        id: baseline | id: Base Line | id | Base Line | lowercase letters
        status: published | status: final | status | final | draft
        units: imperial | units: imperail | units | imperail | mean 'imperial'?
        title: | title: '' # | title | got "" | at least 1 character
    """,
    "values.overlap_length": """
        value: 6 in | value: 6 | value | number 6 | 6 in
        value: 6 in | value: 6 lb | value | measures mass | 6 in
        value: 6 in | value: -6 in | value | negative | 6 in
        value: 6 in | value: 6 inn | value | unknown unit | mean 'in'?
        value: 6 in | value: [6 in] | value | a list | 6 in
        value: 6 in | value: | value | null | Expected
        value: 6 in | value: {at: 6 in} | value | object | Expected
        value: 6 in | value: 11 ft | value | piece_length | shorter
        description: | description: '' # | description | got "" | at least 1 character
        common-practice | common-practise | source | Unknown source | mean 'common-practice'?
    """,
    "values.waste_factor": """
        20 % | 20 | value | number 20 | 20 %
        20 % | 0.2 | value | 0.2 | text
    """,
    "values.min_bend_angle": "70 deg | 85 deg | value | max_bend_angle | minimum",
    "values.max_bend_angle": "80 deg | 95 deg | value | 95 deg | 90 deg",
    "values.rings_per_overlap": """
        value: 4 | value: four | value | four | such as 4
        value: 4 | value: -4 | value | -4 | such as 4
        value: 4 | value: 4.0 | value | 4.0 | whole number
    """,
    "values.snap_bends_to_wires": """
        value: false | value: no | value | got "no" | true or false
        value: false | value: 0 | value | number 0 | true or false
    """,
    "values.stock_widths": "[4 in, 6 in, | [6 in, 4 in, | value | not in order | smallest first",
    "values.common_widths": "[6 in, 8 in] | [6 in, 7 in] | value | stock_widths | there too",
    "bill.mesh": """
        pack_size: 100 ft | pack_size: 100 | pack.pack_size | number 100 | 6 in
        [50 ft] | [50 ft, 25] | pack.also.1 | number 25 | 6 in
        driver: mesh_length | driver: corners | estimate.strip.driver | is a count | length
        unit: length | unit: metre | unit | metre | each, length
    """,
    "bill.screw": """
        : perimeter | : perimetre | estimate.fixing.driver | Unknown driver | mean 'perimeter'?
        : perimeter | : washer | estimate.fixing.driver | above this one |
        one_per: 6 ft | one_per: 6 | estimate.fixing.one_per | number 6 | 6 in
        one_per: 6 ft | one_per: 0 ft | estimate.fixing.one_per | out of range | to 20000 ft
        , one_per: 6 ft | , each: 2 | estimate.fixing.one_per | is required | one_per: 6 ft
        pack_size: 100 | pack_size: 0 | pack.pack_size | out of range | to 1000000
        pack_size: 100 | pack_size: 100 ft | pack.pack_size | 100 ft | whole number
    """,
    "bill.ring.estimate": """
        : rings} | : ring} | joining.when.joining | ring | mean 'rings'?
        {joining: | {joning: | joining.when.joning | Unknown fact | mean 'joining'?
    """,
    "tools.gloves": "need: needed | need: need | need | need | mean 'needed'?",
    "cautions.wildlife": "severity: danger | severity: deadly | severity | deadly | danger",
    "tables.attachment": "policy: UNIQUE | policy: BEST | hit_policy | BEST | UNIQUE",
    "tables.suitability.rows.active_nest": """
        nest: true} | nest: yes} | when.active_nest | yes | true or false
        verdict: unsuitable | verdict: unsuited | then.verdict | unsuited | mean 'unsuitable'?
        remedy: | remedies: | then.remedies | Unknown output | mean 'remedy'?
    """,
    "tables.suitability.rows.too_low": """
        {below: 1 1/2 in} | 1 1/2 in | when.clearance | Expected a range | below
        below: 1 1/2 in | below: 1 1/2 | when.clearance.below | no unit | 6 in
        {below: 1 1/2 in} | {at_least: 2 in, below: 1 in} | when.clearance | is empty | below
        clearance: | clearence: | when.clearence | Unknown input | mean 'clearance'?
    """,
}
CASES = [
    (place, *(part.strip() for part in line.split("|")))
    for place, lines in FAULTS.items()
    for line in lines.strip().splitlines()
]


@pytest.mark.parametrize(("place", "old", "new", "key", "problem", "remedy"), CASES)
def test_a_fault_is_told_with_its_line_its_key_what_is_wrong_and_what_to_write(
    place, old, new, key, problem, remedy
):
    start = "" if place else "\n"
    text, line = spoiled(place, start + old, start + new)
    told_there = [p for p in problems_of(text) if p.key == f"{place}.{key}".strip(".")]
    found = next(p for p in told_there if problem in p.problem)
    assert (found.file, found.line) == ("house.yaml", line)
    assert remedy in f"{found.problem} {found.remedy}"


@pytest.mark.parametrize(
    ("place", "old", "new", "wrong", "meant"),
    [
        (
            "values",
            "\n  overlap_length:",
            "\n  overlap_lenght:",
            "values.overlap_lenght",
            "overlap_length",
        ),
        (
            "values.overlap_length",
            "description:",
            "descripton:",
            "values.overlap_length.descripton",
            "description",
        ),
        ("bill.screw", "description:", "describtion:", "bill.screw.describtion", "description"),
        ("tables", "\n  attachment:", "\n  atachment:", "tables.atachment", "attachment"),
        ("cautions.mice", "severity:", "severety:", "cautions.mice.severety", "severity"),
        ("", "\nunits:", "\nunit:", "unit", "units"),
        ("", "\ncautions:", "\ncaution:", "caution", "cautions"),
    ],
)
def test_a_misspelt_name_is_told_with_the_nearest_one_and_the_true_one_as_missing(
    place, old, new, wrong, meant
):
    text, line = spoiled(place, old, new)
    found = problems_of(text)
    misspelt = told(found, wrong)
    assert misspelt.line == line
    assert f"Did you mean '{meant}'?" in misspelt.remedy
    missing = told(found, ".".join([*wrong.split(".")[:-1], meant]))
    assert "missing" in missing.problem
    assert missing.remedy


def test_several_faults_are_told_at_once_in_the_order_of_the_file():
    text = edited(
        ("\nversion: 1.0.0", "\nversion: one"),
        ("\n  min_web:\n    value: 1 in", "\n  min_web:\n    value: 1 lb"),
        ("\n  overlap_length:\n", "\n  overlap_lenght:\n"),
        ("driver: mesh_length", "driver: mesh_lenght"),
        ("estimate:\n      binding: {driver: screw}", "estimate:\n      binding: {driver: skrew}"),
        ("\n  gloves:\n", "\n  gloves:\n    colour: black\n"),
    )
    found = problems_of(text)
    assert set(keys(found)) == {
        "version",
        "values.min_web.value",
        "values.overlap_lenght",
        "values.overlap_length",
        "bill.mesh.estimate.strip.driver",
        "bill.tie.estimate.binding.driver",
        "tools.gloves.colour",
    }
    assert [p.line for p in found] == sorted(p.line for p in found)
    assert "mean 'mesh_length'?" in told(found, "bill.mesh.estimate.strip.driver").remedy
    assert "mean 'screw'?" in told(found, "bill.tie.estimate.binding.driver").remedy


def test_a_key_that_stands_twice_is_told_among_the_other_faults():
    text, line = spoiled("values.overlap_length", "value: 6 in", "value: 6 in\n    value: 7 in")
    text = text.replace("need: helpful", "need: hopeful", 1)
    first, second = problems_of(text)
    assert (first.line, second.key) == (line + 1, "tools.extension_shaft.need")
    assert first.key.startswith("values.overlap_length.value")


@pytest.mark.parametrize("section", ["sources", "values", "tables", "bill", "tools", "cautions"])
@pytest.mark.parametrize("instead", ["", " 3", " text", " [1]"])
def test_a_section_that_is_no_mapping_is_told_once(section, instead):
    tree = read(house_text().encode(), "f").tree
    lines = [f"{name}: {json.dumps(part)}" for name, part in tree.items() if name != section]
    found = problems_of("\n".join([*lines, f"{section}:{instead}"]))
    assert told(found, section).line == len(lines) + 1


def test_one_fault_in_a_source_is_not_told_again_by_all_that_cite_it():
    text, _ = spoiled("sources.common-practice", "status: no source", "status: no sauce")
    assert keys(problems_of(text)) == ["sources.common-practice.status"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("description:", "describtion:"),
        ("source: common-practice", "source: 3"),
        ("pack_size: 100", "pack_size: x"),
    ],
)
def test_one_fault_in_an_item_is_not_told_again_by_the_items_that_it_drives(old, new):
    text, _ = spoiled("bill.screw", old, new)
    assert all(key.startswith("bill.screw.") for key in keys(problems_of(text)))


@pytest.mark.parametrize("count", [40, 60, 1000])
def test_a_file_with_ever_so_many_faults_is_refused_and_tells_at_least_a_hundred(count):
    more = "".join(f"  plug_{n}: {{description: Plug}}\n" for n in range(count))
    found = problems_of(edited(("\ntools:\n", f"{more}\ntools:\n")))
    assert len(found) >= min(2 * count, 100)


def test_a_file_with_thousands_of_faults_tells_no_more_than_people_read():
    twice = "title: again\n" * 3000
    assert len(problems_of(f"{house_text()}\n{twice}")) <= 1000


@pytest.mark.parametrize(
    ("place", "old", "new"),
    [
        ("values.mesh_opening", "value: 1/2 in", "value: 0 in"),
        ("values.return_spacing", "value: 8 ft", "value: 0 ft"),
        ("values.default_clearance", "value: 4 1/2 in", "value: 0 in"),
        ("values.stock_widths", "[4 in,", "[0 in,"),
        ("values.bend_angle_step", "value: 1 deg", "value: 0 deg"),
        ("values.bend_angle_step", "value: 1 deg", "value: 0.000001 deg"),
        ("values.tight_spot_share", "value: 25 %", "value: 150 %"),
        ("values.mesh_margin", "value: 2 in", "value: 9000 ft"),
    ],
)
def test_a_value_that_no_array_can_have_is_refused(place, old, new):
    text, line = spoiled(place, old, new)
    assert {p.line for p in problems_of(text) if p.key.startswith(place)} == {line}


def test_an_item_that_is_measured_has_no_minimum_without_a_unit():
    text, line = spoiled("bill.mesh", "unit: length", "unit: length\n    minimum: 10")
    assert [p.line for p in problems_of(text)] == [line + 1]


@pytest.mark.parametrize(
    ("place", "old", "new"),
    [
        ("", "\nid: baseline", '\nid: "baseline\\n"'),
        ("", "\nversion: 1.0.0", '\nversion: "1.0.0\\n"'),
    ],
)
def test_a_name_never_ends_in_a_line_break(place, old, new):
    text, _ = spoiled(place, old, new)
    assert problems_of(text)


def test_a_condition_without_a_single_option_is_refused():
    text, line = spoiled("bill.ring.estimate", "joining: rings", "joining: []")
    assert [p.line for p in problems_of(text)] == [line]


ODD = [None, 3, 0, -1, 1.5, True, "", "x", [], {}, [None], [[]], {"a": None}, ["a", "a"], "\n"]
ODD += ["4 in", {"from": "1 in"}, {"from": None}, "a" * 3000, {"A B": 1}, "20 %", "1:30", 1e300]


@pytest.mark.parametrize("seed", range(12))
def test_whatever_stands_in_place_of_whatever_is_no_more_than_a_refusal(seed):
    chance = random.Random(seed)
    tree = read(house_text().encode(), "f").tree
    for _ in range(chance.randint(1, 4)):
        holder, step = chance.choice(list(holders(tree)))
        holder[step] = chance.choice(ODD)
    for problem in problems_of(json.dumps(tree)):
        assert problem.line == 1
        assert problem.column >= 1
        assert problem.key
        assert problem.problem


def holders(node):
    """Yield every place of plain data, as what holds it and the step to it."""
    steps = node.items() if isinstance(node, dict) else enumerate(node)
    for step, part in list(steps):
        yield node, step
        if isinstance(part, (dict, list)):
            yield from holders(part)


MIXED = """\
id: brightside
version: 1.0.0
effective: 2026-12-01
status: draft
title: t
change: c
approved_by: n
based_on: baseline@1.0.0
colour: red
values:
  piece_lenght: {value: 8 ft}
  overlap_length: {value: 5 lb}
  mesh_margin: {value: 9 in}
bill:
  cap:
    description: End cap
    estimate: {caps: {driver: cornerz}}
    source: nowhere
remove:
  tools: [spade]
"""


def test_faults_of_shape_against_the_base_and_of_sense_are_told_in_one_go():
    """Each is told once, in the order of the file, with what was probably meant."""
    shelf = Shelf(HISTORY)
    document = read(MIXED.encode(), "brightside.yaml")
    with pytest.raises(RuleFileError) as caught:
        build(shelf.resolve(document))
    told = [(problem.line, problem.key) for problem in caught.value.problems]
    assert told == [
        (9, "colour"),
        (11, "values.piece_lenght"),
        (12, "values.overlap_length.value"),
        (13, "values.mesh_margin.value"),
        (17, "bill.cap.estimate.caps.driver"),
        (18, "bill.cap.source"),
        (20, "remove.tools.0"),
    ]
    said = {problem.key: str(problem) for problem in caught.value.problems}
    assert "Did you mean 'piece_length'?" in said["values.piece_lenght"]
    assert "from 1 in to 4 in" in said["values.mesh_margin.value"]
    assert "Did you mean 'corners'?" in said["bill.cap.estimate.caps.driver"]
