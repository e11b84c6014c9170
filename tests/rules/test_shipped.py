"""The rule files that come with the service are what was published, and the schema knows them."""

from __future__ import annotations

import copy
import json
import shutil
from functools import lru_cache
from pathlib import Path

import pytest
from gapwright.__main__ import main
from gapwright.api.system import published_schema
from gapwright.places import shipped
from gapwright.rulesets.build.build import RULE_SETS, build
from gapwright.rulesets.ledger import FILE, read_ledger, version_key
from gapwright.rulesets.reader import Document, RuleFileError, read
from gapwright.rulesets.resolve import resolve
from gapwright.rulesets.shelf import Shelf
from jsonschema import Draft202012Validator, FormatChecker

from tests.history import RULES as HISTORY

RULES = shipped("rules")
FILES = sorted(RULES.glob("*/*.yaml"))
LEDGER = read_ledger(RULES)
RECORDS = [record for versions in LEDGER.values() for record in versions.values()]
LATEST = {identifier: list(versions.values())[-1] for identifier, versions in LEDGER.items()}
SCHEMA = Path(__file__).parents[2] / "openapi" / "rulefile.schema.json"
VALIDATOR = Draft202012Validator(
    json.loads(SCHEMA.read_bytes()), format_checker=FormatChecker(["date"])
)


def name(path):
    return f"{path.parent.name}-{path.stem}"


@lru_cache(maxsize=16)
def tree(path):
    return read(path.read_bytes(), path.name).tree


@pytest.fixture(scope="module")
def shelf():
    return Shelf(RULES)


@pytest.fixture(scope="module")
def history():
    return Shelf(HISTORY)


def test_each_file_is_recorded_and_each_record_has_its_file():
    recorded = {RULES / record.id / f"{record.version}.yaml" for record in RECORDS}
    assert set(FILES) == recorded
    assert {record.version for record in RECORDS} == {"2.0.0"}
    assert len(RECORDS) == 4


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.name)
def test_each_file_has_the_digest_the_name_and_the_day_that_the_ledger_says(record, shelf):
    rules = shelf.load(record)
    assert (rules.digest, rules.name, rules.effective) == (
        record.digest,
        record.name,
        record.effective,
    )
    assert rules.status == "published"
    assert shelf.problems == ()


@pytest.mark.parametrize("identifier", LEDGER)
def test_effective_days_do_not_run_backwards(identifier):
    versions = list(LEDGER[identifier].values())
    assert versions == sorted(versions, key=lambda record: version_key(record.version))
    assert versions == sorted(versions, key=lambda record: record.effective)


def test_what_a_file_is_based_on_was_in_force_before_it(shelf):
    for record in RECORDS:
        *below, own = shelf.load(record).resolved.documents
        for document in below:
            base = LEDGER[document.tree["id"]][document.tree["version"]]
            assert base.effective <= record.effective
            assert own.tree["id"] == record.id


def test_the_two_adopters_use_what_the_baseline_alone_does_not(shelf):
    assert shelf.load(LEDGER["seacliff"]["2.0.0"]).units == "metric"
    assert len(shelf.load(LEDGER["northmoor-coast"]["2.0.0"]).resolved.documents) == 3


@pytest.mark.parametrize("identifier", LEDGER)
def test_the_latest_version_of_each_is_based_on_the_latest_baseline(identifier, shelf):
    assert LATEST["baseline"].name in shelf.load(LATEST[identifier]).resolved.chain


def test_check_accepts_the_latest_version_of_each(capsys):
    files = [RULES / record.id / f"{record.version}.yaml" for record in LATEST.values()]
    assert main(["check", *map(str, files)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    lines = told.out.splitlines()
    assert len(lines) == len(files)
    for path, line in zip(files, lines, strict=True):
        assert line.startswith(f"{path}: {path.parent.name}@{path.stem} is valid, sha256:")
        assert line.split()[-1] == LEDGER[path.parent.name][path.stem].digest


def test_check_tells_each_fault_and_goes_on_with_the_next_file(tmp_path, capsys):
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(FILES[0].read_text(encoding="utf-8").replace("6 in", "6 lb", 1))
    assert main(["check", str(wrong), str(FILES[0]), "--rules", str(RULES)]) == 1
    told = capsys.readouterr()
    assert "wrong.yaml:" in told.err
    assert f"{FILES[0]}: " in told.out


def test_the_committed_schema_is_the_one_that_is_generated():
    assert SCHEMA.read_bytes() == published_schema(), (
        "Publish it: gapwright schema > openapi/rulefile.schema.json"
    )


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(json.loads(SCHEMA.read_bytes()))


@pytest.mark.parametrize("path", FILES, ids=name)
def test_each_file_names_the_schema_in_its_first_line_and_fits_it(path):
    first = path.read_text(encoding="utf-8").splitlines()[0]
    named = first.removeprefix("# yaml-language-server: $schema=")
    assert (path.parent / named).resolve() == SCHEMA.resolve()
    assert [error.message for error in VALIDATOR.iter_errors(tree(path))] == []


GONE = "(left out)"
ROOT = HISTORY / "baseline" / "1.0.0.yaml"
OVERLAY = HISTORY / "seacliff" / "1.0.0.yaml"


def spoiled(path, at, new):
    found = copy.deepcopy(tree(path))
    *above, last = at.split(".")
    holder = found
    for step in above:
        holder = holder.setdefault(step, {})
    if new == GONE:
        del holder[last]
    else:
        holder[last] = new
    return found


NEED = {"driver": "perimeter", "one_per": "6 ft"}
SAID = {"description": "m", "source": "from-memory"}
CREW = {"value": 2, "low": 2, "high": 3, **SAID}
TASK = {"job": {"a": {"driver": "job", "time": "1 h"}}, **SAID}
ITEM = {"description": "d", "estimate": {"a": NEED}, "source": "from-memory"}
WRONG = [
    ("id", GONE),
    ("id", "Base Line"),
    ("version", "1.0"),
    ("version", "01.0.0"),
    ("effective", "1 January 2026"),
    ("effective", "2026-02-30"),
    ("status", "final"),
    ("units", "imperail"),
    ("units", GONE),
    ("tittle", "t"),
    ("title", ""),
    ("sources.new", {"title": "t"}),
    ("sources.new", {"title": "t", "status": "hearsay"}),
    ("sources.New", {"title": "t", "status": "no source"}),
    ("values.overlap_lenght", {"value": "6 in", "description": "m", "source": "from-memory"}),
    ("values.overlap_length", GONE),
    ("values.overlap_length.value", 6),
    ("values.overlap_length.value", ["6 in"]),
    ("values.overlap_length.value", GONE),
    ("values.overlap_length.vale", "6 in"),
    ("values.overlap_length.allowed", {"min": "6 in"}),
    ("values.stock_widths.value", "4 in"),
    ("values.stock_widths.value", []),
    ("values.rings_per_overlap.value", -1),
    ("values.rings_per_overlap.value", "4"),
    ("values.snap_bends_to_wires.value", "no"),
    ("tables.suitabillity", {"description": "m", "hit_policy": "COLLECT", "rows": {}}),
    ("tables.suitability", GONE),
    ("tables.attachment.hit_policy", "ANY"),
    ("tables.attachment.hit_policy", "COLLECT"),
    ("tables.attachment.rows.rails.when", {"rackng": "rail_mounted"}),
    ("tables.attachment.rows.rails.when", {"racking": "rail"}),
    ("tables.attachment.rows.rails.then.attachment", "glue"),
    ("tables.attachment.rows.rails.then.shape", GONE),
    ("tables.attachment.rows.rails.then.colour", "black"),
    ("tables.suitability.rows.too_low.when.clearance", "1 in"),
    ("tables.suitability.rows.too_low.when.clearance", {"above": "1 in"}),
    ("tables.suitability.rows.poor_roof_condition.when.poor_roof_condition", "yes"),
    ("bill.screw.estimate.fixing.driver", "Perimeter length"),
    ("bill.screw.estimate.fixing.each", 0),
    ("bill.screw.estimate.fixing.when", {"finish": None}),
    ("bill.screw.minimum", -1),
    ("bill.screw.pack", {"pack_size": 100}),
    ("bill.Screw", ITEM),
    ("tools.gloves.need", "useful"),
    ("cautions.falls.severity", "fatal"),
    ("cautions.falls.locked", "yes"),
    ("zones.exposed.values", {"lapp": "8 in"}),
    ("zones.exposed.bill.screw.fixing", {"per": "4 ft"}),
    ("examples.ordinary_job.call", "sizeing"),
    ("examples.ordinary_job.expect", GONE),
    ("remove", {"tools": ["gloves"]}),
    ("assumptions", {"crw": CREW}),
    ("assumptions", {"crew": {**CREW, "value": "2"}}),
    ("assumptions", {"crew": {**CREW, "most": 3}}),
    ("assumptions", {"crew": {"value": 2, **SAID}}),
    ("assumptions", {"module_long": CREW}),
    ("work", {"fit": {**TASK, "source": None}}),
    ("work", {"fit": {**TASK, "estimate": {"a": {"driver": "pieces", "time": "1 min"}}}}),
    ("work", {"fit": {**TASK, "job": {"a": {"driver": "perimeter", "time": "1 min"}}}}),
    ("work", {"fit": {**TASK, "count": {"a": {"driver": "tabs", "time": 5}}}}),
    ("work", {"fit": {**TASK, "minutes": 5}}),
    ("labor_factors", {"steep": {"share": 25, **SAID}}),
    ("labor_factors", {"steep": SAID}),
    ("mesh", {"wire": {"value": "1.6 mm", **SAID}}),
    ("mesh", {}),
    ("assumptions", 3),
]


def minded(content, find=None):
    """Return whether plain content is refused when it is read as a rule file."""
    document = Document(file="wrong.yaml", tree=content, places={})
    try:
        build(resolve(document, find, RULE_SETS))
    except RuleFileError:
        return True
    return False


@pytest.mark.parametrize(("at", "new"), WRONG, ids=lambda one: str(one)[:40])
def test_the_schema_refuses_what_is_wrong_in_a_whole_file(at, new):
    wrong = spoiled(ROOT, at, new)
    assert minded(wrong), "the reader does not mind it either"
    assert not VALIDATOR.is_valid(wrong)


WRONG_OVERLAY = [
    ("based_on", "baseline"),
    ("based_on", "baseline@1"),
    ("based_on", ["baseline@1.0.0"]),
    ("values.overlap_length.value", 6),
    ("values.overlap_lenght", {"value": "6 in"}),
    ("values.overlap_length.allowed", None),
    ("remove", {"values": ["overlap_length"]}),
    ("remove", {"tools": "gloves"}),
    ("remove", {"tables": ["too_low"]}),
    ("tables.attachment", {"rows": {}, "hit_policy": "FIRST"}),
    ("tables.suitability.rows.salt_on_metal.then.verdict", "maybe"),
    ("bill.end_cap.estimate", GONE),
    ("zones.exposed.description", GONE),
    ("approved_by", GONE),
    ("units", None),
    ("assumptions", {"crw": {"value": 3}}),
    ("assumptions", {"module_long": {"to": 3}}),
    ("mesh", {"spacing": {"value": "1/2 in"}}),
    ("work", {"fit": {"count": {}}}),
    ("remove", {"mesh": ["wire"]}),
]


@pytest.mark.parametrize(("at", "new"), WRONG_OVERLAY, ids=lambda one: str(one)[:40])
def test_the_schema_refuses_what_is_wrong_in_an_overlay(at, new, history):
    history.load(history.ledger["baseline"]["1.0.0"])
    wrong = spoiled(OVERLAY, at, new)
    assert minded(wrong, history.document), "the reader does not mind it either"
    assert not VALIDATOR.is_valid(wrong)


RIGHT = [
    ("values.overlap_length.value", "160 mm"),
    ("values.overlap_length", {"value": "8 in"}),
    ("remove", {"tools": ["bending_brake"], "tables": {"suitability": ["bat_roost"]}}),
    ("tables.attachment", {"rows": {}, "description": "m"}),
    ("assumptions", {"crew": {"value": 3}}),
    ("mesh", {"coating": {"value": "10 %"}}),
    ("work", {"own": TASK}),
    ("remove", {"work": ["fit"], "assumptions": ["crew"], "labor_factors": ["steep"]}),
    ("bill.own", ITEM),
    ("bill.own", {**ITEM, "estimate": {"a": {"driver": "screw"}}}),
]


@pytest.mark.parametrize(("at", "new"), RIGHT, ids=lambda one: str(one)[:40])
def test_the_schema_takes_what_an_overlay_may_say(at, new):
    assert VALIDATOR.is_valid(spoiled(OVERLAY, at, new))


def test_the_shipped_folder_holds_rule_files_and_a_ledger_beside_the_prices_and_nothing_else():
    told = {path.relative_to(RULES) for path in RULES.rglob("*") if path.is_file()}
    found = {path for path in told if path.parts[0] != "prices"}
    assert found == {path.relative_to(RULES) for path in FILES} | {Path(FILE)}


@pytest.mark.parametrize("path", FILES, ids=name)
def test_an_altered_copy_of_a_shipped_file_is_not_served(path, tmp_path):
    folder = shutil.copytree(RULES, tmp_path / "rules")
    copied = folder / path.relative_to(RULES)
    text = copied.read_text(encoding="utf-8")
    copied.write_text(text.replace("title: ", "title: The ", 1), encoding="utf-8")
    record = LEDGER[path.parent.name][path.stem]
    with pytest.raises(RuleFileError, match="differs from the published"):
        Shelf(folder).load(record)
