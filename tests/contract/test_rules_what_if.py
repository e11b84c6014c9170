"""What if: a job under two versions, every figure that differs, and every fault at once."""

from __future__ import annotations

import json

import pytest
from gapwright.calls.registry import BY_NAME
from gapwright.publishing.what_if import what_if

from tests.contract.ask import Service, problem_of
from tests.contract.markup import parsed
from tests.contract.rules_pages import (
    BROWSER,
    FAULTY,
    NAMES,
    NEW,
    OLD,
    cells,
    job_of,
    read,
    rules_of,
    what_if_address,
)


@pytest.mark.parametrize("call", BY_NAME)
@pytest.mark.parametrize("after", NAMES[1:])
def test_a_job_is_answered_under_both_with_every_figure_that_differs(
    service: Service, call: str, after: str
):
    page = read(service, what_if_address(call, OLD, after, job_of(call)))
    old, new = rules_of(OLD), rules_of(after)
    units = {} if old.units == new.units or "units" in job_of(call) else {"units": new.units}
    found = what_if(call, {**job_of(call), **units}, old, new)
    results = [json.loads(node.one("code").raw) for node in page.all("pre")]
    assert results == [found.before, found.after]
    if not found.differences:
        assert "give the same answer for this job" in page.text
        return
    rows = {row.one("code").text: cells(row) for row in page.one("tbody").all("tr")}
    assert list(rows) == [one.figure for one in found.differences][:500]
    for one in found.differences[:500]:
        for side, value in ((f"Before: {OLD}", one.before), (f"After: {after}", one.after)):
            if isinstance(value, dict) and {"value", "unit", "text"} <= set(value):
                assert rows[one.figure][side].startswith(value["text"])
            elif isinstance(value, (int, float)) and not isinstance(value, bool):
                assert rows[one.figure][side] == str(value)


def test_a_figure_is_named_by_what_it_is_a_figure_of(service: Service):
    job = {"perimeter": "100 ft", "strip_width": "8 in", "finish": "spray"}
    page = read(service, what_if_address("materials", OLD, NEW, job))
    found = what_if("materials", job, rules_of(OLD), rules_of(NEW))
    at = next(one.figure for one in found.differences if one.figure.endswith("/packs/count"))
    row = next(row for row in page.one("tbody").all("tr") if row.one("code").text == at)
    assert row.one("th").text.startswith("lines, spray paint, packs, count")


def test_all_faults_of_a_question_are_told_at_once_and_nothing_is_lost(service: Service):
    path = what_if_address("materials", "basline", "baseline@77", FAULTY)
    answer = service.ask("GET", path, headers=BROWSER)
    assert answer.status_code == 422
    page = parsed(answer.text)
    assert page.by_id("job").raw.removeprefix("\n") == FAULTY
    assert page.by_id("before").attributes["value"] == "basline"
    assert page.by_id("after").attributes["value"] == "baseline@77"
    assert "Did you mean 'baseline'?" in page.by_id("before-faults").text
    assert "baseline@77" in page.by_id("after-faults").text
    told = [node.one("code").text for node in page.by_id("job-faults").all("li")]
    assert set(told) >= {"/perimeter", "/corners", "/colour", "/ruleset"}
    refused = problem_of(service.ask("GET", path), 422, "")
    assert {"/before", "/after", "/job/corners"} <= {e["pointer"] for e in refused["errors"]}


def test_a_fault_under_either_version_is_told(service: Service):
    """A rule set knows the rolls that its mesh is sold in, and each its own."""
    sold = {}
    for name in NAMES:
        pack = next(item.pack for item in rules_of(name).bill if item.measured)
        sold.setdefault(pack.pack_size, name)
    assert len(sold) > 1
    job = {"perimeter": "90 ft", "strip_width": "8 in", "roll_length": "7 ft"}
    before, after = list(sold.values())[:2]
    page = parsed(
        service.ask("GET", what_if_address("materials", before, after, job), headers=BROWSER).text
    )
    told = page.by_id("job-faults").text
    assert before in told
    assert after in told


@pytest.mark.parametrize(
    ("job", "words"),
    [
        ('{"clearance": {"readings": ["4 in"]}', "Line 1, column 37"),
        ('{\n"clearance": nothing\n}', "Line 2, column 14"),
        ("[]", "not a JSON object"),
        ("", "Line 1, column 1"),
        ('{"clearance": 1, "clearance": 2}', "Duplicate field"),
        ('{"clearance": NaN}', "not JSON"),
        ("[" * 3000, "nested"),
        ("\n\n { x\n\n", "Line 3, column 4"),
    ],
)
def test_a_job_that_is_no_json_is_told_where(service: Service, job: str, words: str):
    path = what_if_address("sizing", OLD, OLD, job)
    answer = service.ask("GET", path, headers=BROWSER)
    assert answer.status_code == 422
    page = parsed(answer.text)
    assert words in page.by_id("job-faults").text
    assert page.by_id("job").raw.removeprefix("\n") == job
