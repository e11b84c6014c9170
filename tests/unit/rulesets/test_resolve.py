"""A chain of rule files is followed to its root, within what each base allows and has locked."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

import pytest
from gapwright.rulesets.build.build import RULE_SETS, build
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.resolve import DEEPEST_CHAIN, resolve
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.unit.make import baseline_text, house_text
from tests.unit.measures import IN, STEADY

HEAD = "version: 1.0.0\neffective: 2026-12-01\nstatus: draft\ntitle: t\nchange: c\napproved_by: n\n"
HEAD_LINES = 8
"""Lines of an overlay before its body, the id and what it is based on included."""


@lru_cache(maxsize=2)
def root(text=None):
    return read((text or house_text()).encode(), "root.yaml")


def resolve_rules(document, find):
    return resolve(document, find, RULE_SETS)


def overlay(name, based_on, body=""):
    """Return the document of an overlay; its body begins on the line after its head."""
    head = f"id: {name}\n{HEAD}based_on: {based_on}\n"
    assert head.count("\n") == HEAD_LINES
    return read((head + body).encode(), f"{name}.yaml")


def finder(*documents):
    """Return what finds documents by `id@version`."""
    known = {f"{d.tree['id']}@{d.tree['version']}": d for d in documents}

    def find(name):
        if name not in known:
            raise KeyError("Publish that version first, or name one that is published.")
        return known[name]

    return find


def chain(*bodies, on=None):
    """Return the resolved top of a chain over the root: overlays one, two, three..."""
    on = on or root()
    documents, below = [on], f"{on.tree['id']}@1.0.0"
    for at, body in enumerate(bodies, 1):
        documents.append(overlay(f"level-{at}", below, body))
        below = f"level-{at}@1.0.0"
    found = resolve_rules(documents[-1], finder(*documents))
    found.refuse_changes()
    return found


def refused(call):
    """Return the problems for which something is refused."""
    with pytest.raises(RuleFileError) as caught:
        call()
    assert caught.value.problems
    return caught.value.problems


def place(problem):
    return problem.file, problem.line, problem.key


LONGER = "values:\n  overlap_length:\n    value: 8 in\n    source: from-memory\n"
NOTICE = "cautions:\n  own:\n    severity: notice\n    text: t\n    source: from-memory\n"


def test_an_entry_knows_each_file_and_line_it_was_written_in_and_what_it_overrode():
    resolved = chain(LONGER, NOTICE, "values:\n  overlap_length:\n    value: 9 in\n")
    found = resolved.origins(("values", "overlap_length"))
    lines = house_text().splitlines()
    assert [(o.ruleset, o.file, o.line) for o in found] == [
        ("baseline@1.0.0", "root.yaml", lines.index("  overlap_length:") + 1),
        ("level-1@1.0.0", "level-1.yaml", HEAD_LINES + 2),
        ("level-3@1.0.0", "level-3.yaml", HEAD_LINES + 2),
    ]
    assert [o.entry["value"] for o in found] == ["6 in", "8 in", "9 in"]
    assert found[-1].entry == {"value": "9 in"}
    assert resolved.content["values"]["overlap_length"]["source"] == "from-memory"


def test_an_entry_that_nobody_changed_comes_from_the_root_alone():
    resolved = chain(LONGER, NOTICE)
    (origin,) = resolved.origins(("tables", "suitability", "rows", "too_high"))
    assert origin.file == "root.yaml"
    assert house_text().splitlines()[origin.line - 1].strip() == "too_high:"
    assert [o.file for o in resolved.origins(("cautions", "own"))] == ["level-2.yaml"]
    assert resolved.origins(("cautions", "nothing")) == ()


@pytest.mark.parametrize("length", [1, 2, 3, 5])
def test_a_chain_that_leads_back_to_itself_is_refused_at_its_based_on(length):
    names = [f"ring-{at}" for at in range(length)]
    ring = [
        overlay(name, f"{below}@1.0.0")
        for name, below in zip(names, names[1:] + names[:1], strict=True)
    ]
    (problem,) = refused(lambda: resolve_rules(ring[0], finder(*ring)))
    assert place(problem) == (f"{names[-1]}.yaml", HEAD_LINES, "based_on")
    assert "circular" in problem.problem


def test_a_loop_that_does_not_lead_to_the_first_file_is_refused():
    first, second, third = (
        overlay("first", "second@1.0.0"),
        overlay("second", "third@1.0.0"),
        overlay("third", "second@1.0.0"),
    )
    (problem,) = refused(lambda: resolve_rules(first, finder(first, second, third)))
    assert problem.file == "third.yaml"


def test_files_that_lie_about_their_names_cannot_make_an_endless_chain():
    liar = overlay("liar", "other@1.0.0")
    (problem,) = refused(lambda: resolve_rules(overlay("top", "other@1.0.0"), lambda _: liar))
    assert problem.key == "based_on"


def test_a_chain_may_be_as_long_as_its_bound_and_not_one_longer():
    assert len(chain(*[""] * (DEEPEST_CHAIN - 1)).documents) == DEEPEST_CHAIN
    (problem,) = refused(lambda: chain(*[""] * DEEPEST_CHAIN))
    assert problem.key == "based_on"
    assert str(DEEPEST_CHAIN) in problem.problem


def test_a_base_that_is_not_there_is_told_where_it_is_named():
    (problem,) = refused(lambda: resolve_rules(overlay("top", "gone@2.0.0"), finder(root())))
    assert place(problem) == ("top.yaml", HEAD_LINES, "based_on")
    assert "gone@2.0.0" in problem.problem
    assert "Publish" in problem.remedy


def test_a_base_that_is_missing_in_the_middle_is_told_in_the_file_that_names_it():
    middle = overlay("middle", "gone@2.0.0")
    (problem,) = refused(lambda: resolve_rules(overlay("top", "middle@1.0.0"), finder(middle)))
    assert problem.file == "middle.yaml"


BROKEN = [
    "values: 5",
    "values: {overlap_length: 6}",
    "values: {overlap_length: {value: 6 in, allowed: 4}}",
    "values: {overlap_length: {value: 6 in, allowed: {max: 4 in}}}",
    "cautions: [falls]",
    "cautions: {falls: text}",
    "tables: {suitability: {rows: [a]}}",
    "tables: {suitability: 1}",
    "bill: mesh",
    "sources: 1",
    "zones: {exposed: {values: 1}}",
]


@pytest.mark.parametrize("broken", BROKEN)
@pytest.mark.parametrize("between", [0, 1])
def test_a_base_of_any_broken_shape_is_refused_and_named(broken, between):
    on = read(f"id: root\nversion: 1.0.0\n{broken}\n".encode(), "root.yaml")
    body = "values: {overlap_length: {value: 7 in}}\ntables: {suitability: {rows: {}}}\n" + NOTICE
    problems = refused(lambda: build(chain(*[""] * between, body, on=on)))
    assert "root.yaml" in {problem.file for problem in problems}


def test_what_an_overlay_breaks_in_its_base_is_told_where_the_base_says_it():
    problems = refused(lambda: build(chain("", "remove: {bill: [screw]}\n")))
    lines = house_text().splitlines()
    drivers = [at for at, line in enumerate(lines, 1) if "driver: screw}" in line]
    assert [(p.file, p.line) for p in problems] == [("root.yaml", line) for line in drivers]
    assert all("screw" in problem.problem for problem in problems)


def test_a_fault_of_the_base_that_is_met_in_an_overlay_is_told_in_the_base():
    middle = "bill:\n  cap:\n    description: d\n    estimate: {a: {driver: perimeter}}\n"
    middle += "    source: from-memory\n"
    problems = refused(lambda: build(chain(middle, LONGER)))
    assert {place(p) for p in problems} == {
        ("level-1.yaml", HEAD_LINES + 4, "bill.cap.estimate.a.one_per")
    }


def test_a_row_that_overlaps_another_is_told_where_the_later_one_was_written():
    row = "tables:\n  attachment:\n    rows:\n      own:\n        when: {racking: rail_mounted}\n"
    row += "        then: {attachment: rails, shape: L}\n        source: from-memory\n"
    problems = refused(lambda: build(chain("", row, "")))
    assert {(p.file, p.line) for p in problems} == {("level-2.yaml", HEAD_LINES + 4)}


def test_all_faults_of_an_overlay_are_told_in_one_go_in_the_order_of_the_file():
    body = "values:\n  overlap_length: {value: 5 in}\n  return_spacing: {value: 9 ft}\n"
    body += "cautions:\n  falls: {severity: notice, text: t, source: from-memory}\n"
    body += "remove: {tools: [no_such_tool], cautions: [wildlife]}\n"
    problems = refused(lambda: chain(body))
    assert [p.line for p in problems] == [HEAD_LINES + n for n in (2, 3, 5, 6, 6)]


@pytest.mark.parametrize("depth", [0, 1, 2, 4])
@pytest.mark.parametrize(
    ("body", "key"),
    [
        (NOTICE.replace("own", "falls"), "cautions.falls"),
        (NOTICE.replace("own", "falls") + "    when: {finish: spray}\n", "cautions.falls"),
        ("remove: {cautions: [falls]}\n", "remove.cautions.0"),
        ("remove: {cautions: [mice, falls]}\n", "remove.cautions.1"),
    ],
)
def test_a_locked_caution_is_neither_reworded_nor_dropped_at_any_depth(depth, body, key):
    problems = refused(lambda: chain(*[LONGER, NOTICE, "", ""][:depth], body))
    (problem,) = [p for p in problems if p.key == key]
    assert "locked" in problem.problem


def test_a_caution_that_an_overlay_locks_is_locked_for_those_above_it():
    mine = NOTICE + "    locked: true\n"
    assert chain(mine, "").content["cautions"]["own"]["locked"]
    for body in (NOTICE, "remove: {cautions: [own]}\n"):
        (problem,) = refused(lambda body=body: chain(mine, "", body))
        assert "locked" in problem.problem


def test_a_caution_that_is_not_locked_may_be_reworded_and_dropped():
    resolved = chain(NOTICE, NOTICE.replace("text: t", "text: other"))
    assert resolved.content["cautions"]["own"]["text"] == "other"
    assert "own" not in chain(NOTICE, "remove: {cautions: [own]}\n").content["cautions"]


@pytest.mark.parametrize("depth", [0, 2])
def test_what_a_locked_caution_cites_is_not_reworded_either(depth):
    body = "sources:\n  usc-16-703: {title: A note of ours, status: no source}\n"
    bodies = [*["", ""][:depth], body]
    assert cited("wildlife", bodies) in ("refused", cited("wildlife", []))


def cited(caution, bodies):
    """Return what a caution of the top of a chain cites, or that the chain is refused."""
    try:
        rules = build(chain(*bodies))
    except RuleFileError:
        return "refused"
    return {c.id: c.source for c in rules.cautions}[caution]


INCH = st.integers(4 * 4, 26 * 4).map(lambda quarters: Fraction(quarters, 4))
STEP = st.fixed_dictionaries({}, optional={"value": INCH, "allowed": st.tuples(INCH, INCH)})
LEAST, MOST = Fraction(6), Fraction(24)
"""Between which the root lets overlays move the lap [in]."""


def written(step):
    """Return the body of an overlay that moves the lap or the range that it may be moved in."""
    members = []
    if "value" in step:
        members.append(f"value: {float(step['value'])} in")
    if "allowed" in step:
        least, most = (f"{float(end)} in" for end in step["allowed"])
        members.append(f"allowed: {{min: {least}, max: {most}}}")
    return f"values:\n  overlap_length: {{{', '.join(members)}}}\n" if members else ""


def permitted(steps):
    """Return whether a chain keeps to its ranges, by a model of its own: one interval."""
    value, least, most = Fraction(6), LEAST, MOST
    for step in steps:
        ends = step.get("allowed", ())
        if not all(least <= one <= most for one in (step.get("value", value), *ends)):
            return False
        value = step.get("value", value)
        least, most = ends or (least, most)
        if not least <= value <= most:
            return False
    return True


@settings(STEADY, max_examples=60)
@given(st.lists(STEP, min_size=1, max_size=4))
@example([{"value": Fraction(24)}])
@example([{"value": Fraction(97, 4)}])
@example([{"value": Fraction(6)}])
@example([{"value": Fraction(23, 4)}])
@example([{"allowed": (Fraction(6), Fraction(25))}])
@example([{"allowed": (Fraction(6), Fraction(25))}, {"value": Fraction(25)}])
@example([{"allowed": (Fraction(6), Fraction(8))}, {"value": Fraction(9)}])
@example([{"allowed": (Fraction(6), Fraction(8))}, {"allowed": (Fraction(6), Fraction(24))}])
@example([{"allowed": (Fraction(8), Fraction(6))}])
@example([{"allowed": (Fraction(7), Fraction(8))}])
@example([{}, {"value": Fraction(24)}, {}, {"value": Fraction(25)}])
def test_no_chain_moves_a_value_or_its_range_out_of_what_its_bases_allow(steps):
    bodies = [written(step) for step in steps]
    if permitted(steps):
        rules = build_each(bodies)
        assert LEAST * IN <= rules.values.overlap_length <= MOST * IN
    else:
        assert all(
            p.key.startswith("values.overlap_length") for p in refused(lambda: build_each(bodies))
        )


def build_each(bodies):
    """Return the top of a chain of which every file was fit to be published."""
    return [build(chain(*bodies[:top])) for top in range(1, len(bodies) + 1)][-1]


@pytest.mark.parametrize(
    ("value", "fits"),
    [
        ("[2 in, 24 in]", True),
        ("[2 in, 25 in]", False),
        ("[63/64 in, 4 in]", False),
        ("[50.8 mm, 609.6 mm]", True),
        ("[50.8 mm, 610 mm]", False),
    ],
)
def test_each_length_of_a_list_stays_within_the_range(value, fits):
    body = f"values:\n  stock_widths: {{value: {value}}}\n"
    if fits:
        chain("", body)
    else:
        assert [p.key for p in refused(lambda: chain("", body))] == ["values.stock_widths.value"]


def test_a_range_cannot_be_taken_away_by_an_overlay():
    problems = refused(lambda: chain("values:\n  overlap_length: {value: 30 in, allowed: null}\n"))
    assert "values.overlap_length.allowed" in {p.key for p in problems}


ZONE = "zones:\n  edge:\n    description: m\n    values: {overlap_length: %s}\n"
ZONE += "    source: from-memory\n"
NARROW = "values:\n  overlap_length: {allowed: {min: 6 in, max: 8 in}}\n"


@pytest.mark.parametrize(
    ("bodies", "line"),
    [
        ((ZONE % "25 in",), 4),
        (("", ZONE % "5 in"), 4),
        ((NARROW, ZONE % "9 in"), 4),
        ((NARROW + ZONE % "9 in",), 6),
    ],
)
def test_a_zone_stays_within_the_range_of_its_base_and_of_its_own_file(bodies, line):
    (problem,) = refused(lambda: build(chain(*bodies)))
    assert problem.key == "zones.edge.values.overlap_length"
    assert problem.line == HEAD_LINES + line


def test_a_range_that_is_narrowed_over_a_zone_of_the_base_is_refused():
    problems = refused(lambda: build(chain(ZONE % "9 in", NARROW)))
    assert {p.key for p in problems} == {"zones.edge.values.overlap_length"}


def test_a_zone_of_the_root_stays_within_the_ranges_of_the_root():
    wide = house_text() + "\n" + ZONE % "25 in"
    problems = refused(lambda: build(resolve_rules(read(wide.encode(), "root.yaml"), finder())))
    assert {p.key for p in problems} == {"zones.edge.values.overlap_length"}


@pytest.mark.parametrize("overlap", ["6 in", "8 in", "24 in", "609.6 mm"])
def test_a_zone_within_the_range_is_taken(overlap):
    rules = build(chain("", ZONE % overlap))
    assert rules.zones["edge"].changed == {"overlap_length"}
    assert rules.zones["edge"].values.return_spacing == rules.values.return_spacing


@pytest.mark.parametrize(
    "name", ["mesh_margin", "cut_increment", "min_array_gap", "snap_bends_to_wires"]
)
def test_a_zone_changes_nothing_that_is_taken_for_the_whole_array(name):
    """It would be written down, shown, and followed by nobody."""
    raw = {"snap_bends_to_wires": "true"}.get(name, "2 in")
    (problem,) = refused(
        lambda: build(chain("", ZONE.replace("overlap_length: %s", f"{name}: {raw}")))
    )
    assert problem.key == f"zones.edge.values.{name}"
    assert problem.line == HEAD_LINES + 4
    assert name in problem.problem
    assert "return_spacing" in problem.remedy


def test_a_zone_has_no_ratio_of_what_is_not_told_zone_by_zone():
    """Corners, and what other lines need, are counted for the array as a whole."""
    ratio = "zones:\n  edge:\n    description: m\n    source: from-memory\n    bill:\n"
    ratio += "      tie: {binding: {each: 2}}\n"
    (problem,) = refused(lambda: build(chain("", ratio)))
    assert problem.key == "zones.edge.bill.tie.binding"
    assert "driven by screw" in problem.problem
    assert "perimeter" in problem.remedy


@pytest.mark.parametrize(
    "raw",
    ["overlap_length: 8 in", "rings_per_overlap: 5", "ties_per_overlap: 5", "return_spacing: 5 ft"],
)
def test_a_zone_changes_what_is_taken_edge_by_edge(raw):
    rules = build(chain("", ZONE.replace("overlap_length: %s", raw)))
    assert rules.zones["edge"].changed == {raw.partition(":")[0]}


@pytest.mark.parametrize(
    ("remove", "told"),
    [
        ("bill: [scrw]", "mean 'screw'?"),
        ("zones: [nowhere]", "remove 'nowhere'"),
        ("tables: {suitability: [to_high]}", "mean 'too_high'?"),
        ("tables: {nothing: [a]}", "remove 'a'"),
        ("examples: [none]", "remove 'none'"),
    ],
)
def test_what_is_not_there_cannot_be_removed(remove, told):
    (problem,) = refused(lambda: chain("", f"remove: {{{remove}}}\n"))
    assert told in f"{problem.problem} {problem.remedy}"
    assert problem.line == HEAD_LINES + 1


def test_what_is_written_anew_is_not_removed_as_well():
    body = "bill:\n  ring:\n    description: d\n    estimate: {a: {driver: screw}}\n"
    body += "    source: from-memory\nremove: {bill: [ring]}\n"
    (problem,) = refused(lambda: chain(body))
    assert place(problem) == ("level-1.yaml", HEAD_LINES + 6, "remove.bill.0")


@pytest.mark.parametrize(
    "body",
    [
        "remove: {values: [overlap_length]}\n",
        "remove: {sources: [from-memory]}\n",
        "tables: {attachment: {rows: {}, hit_policy: FIRST}}\n",
        "remove: tools\n",
        "values: {overlap_length: 7 in}\n",
        "values: {overlap_length: {valu: 7 in}}\n",
    ],
)
def test_what_an_overlay_cannot_say_is_refused_before_anything_is_laid(body):
    for problem in refused(lambda: chain("", body)):
        assert problem.file == "level-2.yaml"
        assert problem.line == HEAD_LINES + 1
        assert problem.remedy or "Expected" in problem.problem


def test_the_whole_baseline_resolves_to_itself():
    document = root(baseline_text())
    resolved = resolve_rules(document, finder())
    assert resolved.content == document.tree
    assert resolved.documents == (document,)
