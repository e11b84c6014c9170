"""What is published is judged first, recorded by one line, and never recorded otherwise again."""

from __future__ import annotations

import json
import shutil
from datetime import date
from functools import lru_cache

import pytest
from gapwright.publishing.publish import judge, publish, withdraw
from gapwright.rulesets import shelf as shelf_module
from gapwright.rulesets.build.build import build
from gapwright.rulesets.ledger import FILE, Record, read_ledger
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.shelf import Shelf, read_file

from tests.unit.make import baseline_text

OURS = """\
id: ours
version: %s
effective: %s
status: published
title: t
change: c
approved_by: n
based_on: %s
%s"""
LONGER = """\
zones: {tall: {description: m, source: from-memory, values: {overlap_length: %s}}}
examples:
%s"""
LAID_OUT = """\
  %s:
    call: layout
    given:
      units: imperial
      clearance: {readings: [4 1/2 in]}
      array: {modules: [{x: 0 in, y: 0 in, width: 11 ft, height: 66 in}]}
      facings:
        - {facing: ridge, open: true}
        - {facing: left, open: true}
        - {facing: right, open: true}
        - {facing: eave, zone: %s}
    expect: {counts: {overlaps: 1}, overlaps: [{length: %s}]}
"""


def longer(overlap, examples=""):
    """Return a zone with longer laps, and the example that tells how long; and further examples."""
    return LONGER % (overlap, lapped(overlap, "tall") + examples)


def lapped(overlap, zone="standard"):
    """Return an example that lays out one piece beside another, in a zone, with a lap."""
    return LAID_OUT % (f"overlap_{zone}", zone, overlap)


remembered = lru_cache(maxsize=64)(read)


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    """Parse the same bytes once: each version on a large base would read it anew."""
    monkeypatch.setattr(shelf_module, "read", remembered)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Return a folder with a root, plain, an overlay on it that adds a caution, and ours.

    The root and its overlay are recorded as they were before examples could lay out, and have none
    that do.
    """
    folder = tmp_path_factory.mktemp("made") / "rules"
    (folder / "plain").mkdir(parents=True)
    root, heat = folder / "plain" / "1.0.0.yaml", folder / "plain" / "1.1.0.yaml"
    root.write_text(json.dumps(plain_tree(), indent=1), encoding="utf-8")
    body = "cautions: {heat: {severity: warning, text: t, source: from-memory}}\n"
    overlay = OURS % ("1.1.0", "2026-06-01", "plain@1.0.0", body)
    heat.write_text(overlay.replace("id: ours", "id: plain"), encoding="utf-8")
    for path in (root, heat):
        record_as_before(path, folder)
    ours(folder, "1.0.0", longer("8 in"))
    return folder


def record_as_before(path, folder):
    """Record a file as published without asking anything of its examples."""
    rules = build(Shelf(folder).resolve(read_file(path, folder)))
    record = Record(
        id=rules.id, version=rules.version, effective=rules.effective, digest=rules.digest
    )
    with (folder / FILE).open("a", encoding="utf-8") as opened:
        opened.write(f"{record.line()}\n")


def plain_tree():
    """Return the baseline without zones and layouts, whose examples take long to judge."""
    tree = read(baseline_text().encode(), "baseline.yaml").tree
    bill = {
        name: {member: part for member, part in item.items() if member != "count"}
        for name, item in tree["bill"].items()
    }
    examples = {
        name: example
        for name, example in tree["examples"].items()
        if not {"layout", "zones"} & example["given"].keys()
    }
    return {**tree, "id": "plain", "bill": bill, "zones": {}, "examples": examples}


@pytest.fixture
def folder(made, tmp_path):
    return shutil.copytree(made, tmp_path / "rules")


def write(folder, version, body="", effective="2026-12-01", based_on="plain@1.1.0"):
    """Write a version of the company's file, and return its path."""
    path = folder / "ours" / f"{version}.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(OURS % (version, effective, based_on, body), encoding="utf-8")
    return path


def ours(folder, version, body="", **head):
    return publish(write(folder, version, body, **head), folder)


def ledger(folder):
    return (folder / FILE).read_text(encoding="utf-8")


def refused(call):
    """Return the problems for which a call is refused, by key."""
    with pytest.raises(RuleFileError) as caught:
        call()
    return {problem.key: problem for problem in caught.value.problems}


def refused_untouched(folder, call):
    before = ledger(folder)
    found = refused(call)
    assert ledger(folder) == before
    return found


def test_publishing_adds_one_line_to_the_ledger_and_changes_no_other(folder):
    before = ledger(folder)
    record = ours(folder, "1.1.0", longer("9 in"))
    assert ledger(folder) == f"{before}{record.line()}\n"
    assert read_ledger(folder)["ours"]["1.1.0"] == record
    rules = Shelf(folder).pick("ours@1.1.0", date(2026, 12, 1))
    assert (rules.digest, rules.effective) == (record.digest, record.effective)


def test_publishing_the_same_again_is_no_change(folder):
    before = ledger(folder)
    path = folder / "ours" / "1.0.0.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(f"# looked over once more\n\n{text}", encoding="utf-8")
    assert publish(path, folder) == read_ledger(folder)["ours"]["1.0.0"]
    assert ledger(folder) == before


def test_publishing_other_content_under_a_published_version_is_refused(folder):
    path = write(folder, "1.0.0", longer("9 in"))
    (problem,) = refused_untouched(folder, lambda: publish(path, folder)).values()
    assert "different content" in problem.problem
    assert "new version" in problem.remedy


def test_a_ledger_whose_last_line_was_left_open_takes_the_next_record_on_a_line_of_its_own(folder):
    (folder / FILE).write_text(ledger(folder).rstrip("\n"), encoding="utf-8")
    record = ours(folder, "1.1.0", longer("9 in"))
    assert read_ledger(folder)["ours"]["1.1.0"] == record


def test_what_the_ledger_could_not_be_read_with_again_is_not_published(folder):
    """A version of seven digits is a version to the schema."""
    path = write(folder, "1.1234567.0", longer("9 in"))
    refused_untouched(folder, lambda: publish(path, folder))


@pytest.mark.parametrize("name", ['"ours\\n"', '"ours\\r"'])
def test_a_name_with_a_line_end_is_no_name(folder, name):
    path = write(folder, "1.1.0", longer("9 in"))
    path.write_text(path.read_text().replace("id: ours", f"id: {name}"), encoding="utf-8")
    assert "id" in refused(lambda: judge(read_file(path, folder), Shelf(folder)))


@pytest.mark.parametrize("status", ["draft", "withdrawn"])
def test_only_what_says_that_it_is_published_is_published(folder, status):
    path = write(folder, "1.1.0", longer("9 in"))
    path.write_text(path.read_text().replace("status: published", f"status: {status}"))
    (problem,) = refused_untouched(folder, lambda: publish(path, folder)).values()
    assert status in problem.problem


@pytest.mark.parametrize("place", ["ours/1.1.1.yaml", "theirs/1.1.0.yaml", "1.1.0.yaml"])
def test_a_file_stands_where_its_name_says(folder, place):
    path = folder / place
    path.parent.mkdir(exist_ok=True)
    write(folder, "1.1.0", longer("9 in")).rename(path)
    (problem,) = refused_untouched(folder, lambda: publish(path, folder)).values()
    assert "ours/1.1.0.yaml" in problem.remedy


def test_a_file_with_faults_is_refused_with_all_of_them(folder):
    body = "values: {overlap_length: {value: 8 lb}, return_spacing: {value: 9 ft}}\n"
    body += "remove: {tools: [nothing]}\n"
    assert refused_untouched(folder, lambda: ours(folder, "1.1.0", body))


def test_a_base_that_is_not_published_is_refused(folder):
    assert "based_on" in refused_untouched(
        folder, lambda: ours(folder, "2.0.0", based_on="plain@9.0.0")
    )


def test_nothing_is_published_on_a_base_that_was_tampered_with(folder):
    base = folder / "plain" / "1.0.0.yaml"
    text = base.read_text(encoding="utf-8")
    assert text.count("A fall from a roof kills.") == 1
    base.write_text(text.replace("A fall from a roof kills.", "Mind the edge."), encoding="utf-8")
    found = refused_untouched(folder, lambda: ours(folder, "2.0.0"))
    assert {problem.file for problem in found.values()} == {"plain/1.0.0.yaml"}


def test_an_example_that_does_not_hold_any_more_must_be_restated(folder):
    more = "values: {waste_factor: {value: 30 %}}\n"
    found = refused_untouched(folder, lambda: ours(folder, "1.1.0", more + longer("8 in")))
    (key,) = {key.split(".expect")[0] for key in found}
    assert key == "examples.ordinary_job"
    assert {problem.file for problem in found.values()} == {"plain/1.0.0.yaml"}
    restated = "  ordinary_job:\n    call: materials\n    given: {perimeter: 90 ft, "
    restated += "clearance: {readings: [4 1/2 in]}}\n    expect:\n      lines:\n"
    restated += "        mesh: {length: 117 ft, packs: {remaining: 83}}\n"
    restated += "        screw: {packs: {remaining: 85}}\n"
    restated += "        washer: {packs: {remaining: 85}}\n"
    restated += "        tie: {packs: {remaining: 85}}\n"
    restated += "        ring: {packs: {remaining: 455}}\n        spray_paint: null\n"
    assert ours(folder, "1.1.0", more + longer("8 in", restated))


def test_a_limit_that_no_example_looks_at_keeps_a_file_from_being_published(folder):
    line = "bill:\n  end_cap:\n    description: d\n    estimate: {a: {driver: perimeter, "
    line += "one_per: 9 ft}}\n    minimum: 2\n    source: from-memory\n" + longer("8 in")
    found = refused_untouched(folder, lambda: ours(folder, "1.1.0", line))
    assert {"bill.end_cap.estimate.a.each", "bill.end_cap.minimum"} <= set(found)
    assert all("No example fails" in problem.problem for problem in found.values())


def stricter_then_looser():
    return [
        (longer("8 in"), longer("7 in")),
        (longer("8 in"), ""),
        (
            "cautions: {own: {severity: danger, text: t, source: from-memory}}\n" + longer("8 in"),
            longer("8 in"),
        ),
    ]


@pytest.mark.parametrize(("before", "after"), stricter_then_looser())
def test_a_version_that_loosens_anything_moves_the_major_number(folder, before, after):
    ours(folder, "1.1.0", before)
    for version in ("1.1.1", "1.2.0"):
        found = refused_untouched(folder, lambda version=version: ours(folder, version, after))
        assert all("looser than in ours@1.1.0" in problem.problem for problem in found.values())
        assert all("2.0.0" in problem.remedy for problem in found.values())
        (folder / "ours" / f"{version}.yaml").unlink()
    assert ours(folder, "2.0.0", after).version == "2.0.0"


@pytest.mark.parametrize("body", [longer("9 in"), longer("203.2 mm"), longer("8 in")])
def test_a_version_that_is_stricter_or_the_same_keeps_the_major_number(folder, body):
    assert ours(folder, "1.0.1", body).version == "1.0.1"


def test_a_version_between_two_others_may_not_make_the_later_one_a_loosening(folder):
    ours(folder, "1.2.0", longer("9 in"))
    refused_untouched(folder, lambda: ours(folder, "1.1.0", longer("10 in")))


def test_a_base_that_was_changed_for_a_looser_one_is_a_loosening(folder):
    ours(folder, "1.1.0", longer("8 in"))
    older = longer("8 in")
    found = refused_untouched(folder, lambda: ours(folder, "1.2.0", older, based_on="plain@1.0.0"))
    assert set(found) == {"cautions.heat"}


@pytest.mark.parametrize(
    ("version", "effective", "allowed"),
    [
        ("1.1.0", "2026-11-30", False),
        ("1.1.0", "2026-12-01", True),
        ("1.1.0", "2026-12-02", True),
        ("2.0.0", "2026-11-30", False),
        ("0.9.0", "2026-12-02", False),
        ("0.9.0", "2026-12-01", True),
        ("0.9.0", "2026-11-30", True),
    ],
)
def test_effective_dates_do_not_run_backwards(folder, version, effective, allowed):
    def call():
        return ours(folder, version, longer("8 in"), effective=effective)

    if allowed:
        assert call().effective == date.fromisoformat(effective)
    else:
        found = refused_untouched(folder, call)
        assert set(found) == {"effective"}
        assert "ours@1.0.0" in found["effective"].problem


def test_a_version_between_two_others_takes_effect_between_them(folder):
    ours(folder, "1.2.0", longer("8 in"), effective="2026-12-20")
    for day in ("2026-11-30", "2026-12-21"):
        found = refused_untouched(
            folder, lambda day=day: ours(folder, "1.1.0", longer("8 in"), effective=day)
        )
        assert set(found) == {"effective"}
    assert ours(folder, "1.1.0", longer("8 in"), effective="2026-12-10")


def test_withdrawing_adds_one_line_and_withdrawing_again_none(folder):
    before = ledger(folder)
    withdraw("ours@1.0.0", folder, date(2026, 12, 5))
    after = ledger(folder)
    assert after == f"{before}withdrawn ours@1.0.0 on 2026-12-05\n"
    withdraw("ours@1.0.0", folder, date(2026, 12, 9))
    assert ledger(folder) == after
    assert read_ledger(folder)["ours"]["1.0.0"].withdrawn == date(2026, 12, 5)


@pytest.mark.parametrize("name", ["ours@1.0.1", "ours", "ours@1", "theirs@1.0.0", "", "@"])
def test_what_was_never_published_cannot_be_withdrawn(folder, name):
    refused_untouched(folder, lambda: withdraw(name, folder, date(2026, 12, 5)))


def test_a_withdrawn_version_is_not_published_again_nor_under_other_content(folder):
    withdraw("ours@1.0.0", folder, date(2026, 12, 5))
    before = ledger(folder)
    assert publish(folder / "ours" / "1.0.0.yaml", folder).withdrawn == date(2026, 12, 5)
    assert ledger(folder) == before
    path = write(folder, "1.0.0", longer("9 in"))
    refused_untouched(folder, lambda: publish(path, folder))


def test_what_follows_a_withdrawn_version_is_still_compared_with_it(folder):
    withdraw("ours@1.0.0", folder, date(2026, 12, 5))
    assert "zones.tall" in refused_untouched(folder, lambda: ours(folder, "1.1.0", longer("7 in")))


def test_a_file_that_is_not_there_is_told(folder):
    found = refused_untouched(folder, lambda: publish(folder / "ours" / "9.0.0.yaml", folder))
    assert "cannot be read" in found["the file"].problem


LAP = "values: {overlap_length: {value: 8 in}}\n"


def test_a_value_of_layouts_that_a_new_version_writes_is_tested_by_an_example_that_lays_out(folder):
    """The others stand as they were published, before examples could lay out."""
    found = refused_untouched(folder, lambda: ours(folder, "1.1.0", LAP + longer("8 in")))
    assert set(found) == {"values.overlap_length"}
    assert ours(folder, "1.1.0", LAP + longer("8 in", lapped("8 in"))).version == "1.1.0"
    assert set(refused(lambda: ours(folder, "1.2.0", LAP + longer("8 in")))) == {
        "values.overlap_length"
    }


def test_a_value_inside_a_zone_is_tested_by_an_example_that_lays_out_in_that_zone(folder):
    zone = longer("9 in").partition("examples:")[0]
    elsewhere = zone + "examples:\n" + lapped("6 in")
    for body in (zone, elsewhere):
        found = refused_untouched(folder, lambda body=body: ours(folder, "1.1.0", body))
        assert set(found) == {"zones.tall.values.overlap_length"}
        assert "tall.values.overlap_length" in found["zones.tall.values.overlap_length"].problem
        assert found["zones.tall.values.overlap_length"].file == "ours/1.1.0.yaml"
    assert ours(folder, "1.1.0", longer("9 in")).version == "1.1.0"


def test_a_new_version_answers_for_what_its_own_earlier_ones_left_untested(folder):
    """What was published before is excused; what goes on from it under the same name is not."""
    path = folder / "ours" / "2.0.0.yaml"
    write(folder, "2.0.0", LAP + longer("8 in").partition("examples:")[0])
    record_as_before(path, folder)
    assert judge(read_file(path, folder), Shelf(folder)).version == "2.0.0"
    found = refused_untouched(folder, lambda: ours(folder, "2.0.1", based_on="ours@2.0.0"))
    assert set(found) == {"values.overlap_length", "zones.tall.values.overlap_length"}
    assert {problem.file for problem in found.values()} == {"ours/2.0.0.yaml"}
    body = "examples:\n" + lapped("8 in") + lapped("8 in", "tall")
    assert ours(folder, "2.0.1", body, based_on="ours@2.0.0").version == "2.0.1"


def test_an_example_of_layouts_is_inherited_and_holds_or_is_restated(folder):
    ours(folder, "1.1.0", LAP + longer("8 in", lapped("8 in")))
    ours(folder, "1.2.0", based_on="ours@1.1.0")
    more = LAP.replace("8 in", "9 in")
    found = refused_untouched(folder, lambda: ours(folder, "1.3.0", more, based_on="ours@1.1.0"))
    assert set(found) == {"examples.overlap_standard.expect.overlaps.0.length"}
    restated = more + "examples:\n" + lapped("9 in")
    assert ours(folder, "1.3.0", restated, based_on="ours@1.1.0").version == "1.3.0"
