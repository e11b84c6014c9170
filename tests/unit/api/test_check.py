"""A draft is judged within an allowance of work, and its job is a request like any other."""

from __future__ import annotations

import json
from datetime import date
from functools import lru_cache

import pytest
from gapwright.api import check as check_module
from gapwright.api.body import read_typed
from gapwright.api.check import MOST_CHARACTERS, CheckRequest, judge_draft
from gapwright.errors import InvalidRequestError
from gapwright.publishing.publish import withdraw
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY
from tests.unit.make import BASELINE

HEAD = """\
id: %s
version: 1.0.0
effective: 2026-12-01
status: draft
title: t
change: c
approved_by: n
based_on: baseline@1.0.0
"""
DRAFT = HEAD % "trial"
NOTHING = "id: trial\n"
JOB = {"call": "materials", "given": {"perimeter": "90 ft", "strip_width": "8 in"}}
LINES = "bill:\n" + "".join(
    f"  x{n}: {{description: d, source: from-memory,"
    f" estimate: {{a: {{driver: perimeter, one_per: {n + 1} ft}}}}}}\n"
    for n in range(80)
)


@lru_cache(maxsize=1)
def shelf():
    return Shelf(HISTORY)


def read(draft, **told):
    body = json.dumps({"draft": draft, **told}).encode()
    return read_typed(CheckRequest, body)[0]


def judged(draft, at=None, **told):
    at = at or shelf()
    against = at.load(at.ledger["baseline"]["1.0.0"])
    return judge_draft(read(draft, **told), against, at)


def refused(draft, **told):
    with pytest.raises(InvalidRequestError) as caught:
        judged(draft, **told)
    return {fault.pointer for fault in caught.value.faults}


def test_a_sound_draft_is_tried_whole():
    found = judged(DRAFT, job=JOB)
    assert (found.sound, found.tried, found.limits, found.note) == (True, 112, 112, None)
    assert found.what_if.differences == ()


def test_lines_that_no_example_looks_at_are_untested_without_an_answer_being_computed():
    """Eighty of them once took half a minute; no example is run for their sake."""
    found = judged(DRAFT + LINES)
    assert (found.tried, found.note) == (found.limits, None)
    untested = {fault.key for fault in found.untested}
    assert {f"bill.x{n}" for n in range(80)} <= untested
    assert all(key.startswith("bill.x") for key in untested)


def test_what_was_not_tried_for_want_of_work_is_told(monkeypatch):
    monkeypatch.setattr(check_module, "MOST_WORK", 2_000)
    found = judged(DRAFT)
    assert found.sound
    assert 0 < found.tried < found.limits == 112
    expected = f"{found.tried} of 112 limits were tried; run `gapwright check` to try all."
    assert found.note == expected


VAST = "array: {blocks: [{rows: 100, columns: 200, long_side: 66 in, short_side: 40 in}]}"
TOO_MUCH = {
    "layouts": ("layout", f"{{clearance: {{readings: [4 in]}}, {VAST}}}", 2),
    "quotes_drawn": ("quote", f"{{planes: [{{{VAST}}}]}}", 2),
    "quotes": ("quote", "{planes: [{arrays: [{perimeter: 90 ft}]}]}", 1000),
}


@pytest.mark.parametrize("kind", TOO_MUCH)
def test_examples_that_take_too_much_work_are_left_to_the_command_line(kind):
    call, given, count = TOO_MUCH[kind]
    examples = (f"  e{n}: {{call: {call}, given: {given}, expect: {{}}}}\n" for n in range(count))
    found = judged(f"{DRAFT}examples:\n{''.join(examples)}")
    (fault,) = found.faults
    assert (found.sound, fault.key) == (False, "examples")
    assert "gapwright check" in fault.remedy


def test_a_draft_has_at_most_so_many_characters():
    comment = "#" * (MOST_CHARACTERS - len(DRAFT) - 1) + "\n"
    assert judged(DRAFT + comment).sound
    with pytest.raises(InvalidRequestError) as caught:
        read(DRAFT + comment + "#")
    (fault,) = caught.value.faults
    assert fault.pointer == "/draft"
    assert str(MOST_CHARACTERS) in fault.problem


@pytest.mark.parametrize("draft", [DRAFT, NOTHING])
@pytest.mark.parametrize(
    ("call", "given", "at"),
    [
        ("sizing", {"clearance": {"readings": [4]}}, {"/job/given/clearance/readings/0"}),
        ("sizing", {}, {"/job/given/clearance"}),
        ("sizing", {"clearance": {"readings": ["4 in"]}, "x": 1}, {"/job/given/x"}),
        ("materials", {}, {"/job/given/perimeter", "/job/given/clearance"}),
        ("materials", {"corners": -1}, {"/job/given/corners"}),
        ("layout", {"clearance": {"readings": ["4 in"]}}, {"/job/given/array"}),
        ("suitability", {"units": ""}, {"/job/given/units"}),
        ("suitability", {"units": {}}, {"/job/given/units"}),
        ("suitability", {"units": 0}, {"/job/given/units"}),
        ("suitability", {"ruleset": "baseline"}, {"/job/given/ruleset"}),
        ("suitability", {"as_of": "2026-01-01"}, {"/job/given/as_of"}),
        ("suitability", [], {"/job/given"}),
        ("suitabilty", {}, {"/job/call"}),
        (7, {}, {"/job/call"}),
    ],
)
def test_an_unusable_job_is_told_also_beside_an_unsound_draft(draft, call, given, at):
    assert at <= refused(draft, job={"call": call, "given": given})


def test_a_job_names_its_call():
    assert refused(NOTHING, job={"given": {}}) == {"/job/call"}
    assert refused(NOTHING, job=3) == {"/job"}


@pytest.mark.parametrize("draft", [DRAFT, NOTHING])
def test_a_job_that_the_rules_cannot_answer_is_told_too(draft):
    given = {"perimeter": "90 ft", "strip_width": "8 in", "zones": {"moonlit": "3 ft"}}
    pointers = refused(draft, job={"call": "materials", "given": given})
    assert pointers == {"/job/given/zones/moonlit"}


def test_a_whole_number_may_be_written_with_a_point():
    given = {**JOB["given"], "corners": 4.0}
    assert judged(DRAFT, job={**JOB, "given": given}).what_if == judged(DRAFT, job=JOB).what_if


@pytest.mark.parametrize("name", ["what-if", "check"])
def test_a_name_that_is_an_address_of_the_service_is_reserved(name):
    found = judged(HEAD % name)
    assert [fault.key for fault in found.faults] == ["id"]


def test_nothing_new_stands_on_a_withdrawn_version(tmp_path):
    folder = tmp_path / "rules"
    (folder / "baseline").mkdir(parents=True)
    (folder / "baseline" / "1.0.0.yaml").write_bytes(BASELINE.read_bytes())
    line = next(iter(shelf().ledger["baseline"].values())).line()
    (folder / "ledger.txt").write_text(f"{line}\n", encoding="utf-8")
    assert judged(DRAFT, Shelf(folder)).sound
    withdraw("baseline@1.0.0", folder, date(2026, 12, 2))
    (fault,) = judged(DRAFT, Shelf(folder)).faults
    assert (fault.key, fault.line) == ("based_on", 8)
    assert "withdrawn on 2026-12-02" in fault.problem


def test_a_price_book_is_told_to_be_one():
    text = HISTORY.joinpath("prices", "demo", "1.0.0.yaml").read_text()
    told = judged(text)
    assert not told.sound
    [fault] = told.faults
    assert "price book" in fault.problem
    assert "gapwright check" in fault.remedy
