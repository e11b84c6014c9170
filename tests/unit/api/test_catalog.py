from __future__ import annotations

import asyncio
import json
import threading
from datetime import date, timedelta

import msgspec
import pytest
from gapwright.api.calls import answer
from gapwright.api.catalog import Catalogs
from gapwright.api.problems import ProblemError
from gapwright.api.settings import Settings
from gapwright.calls.registry import CALLS
from gapwright.rulesets.shelf import Shelf

from tests.unit.make import BASELINE, baseline

SIZING = next(call for call in CALLS if call.path == "/v1/sizing")
FINE = {"clearance": {"readings": ["4 1/2 in"]}}


DAY = date(2026, 3, 1)
"""A day on which the first version is in force."""


def catalogs(today=DAY, **told):
    return Catalogs(Settings(rules=BASELINE.parent.parent, **told), lambda: today)


def answered(at, call, body):
    content, _ = asyncio.run(answer(call, at, body))
    return json.loads(content)


def asked(at, **told):
    return answered(at, SIZING, json.dumps({**FINE, **told}).encode())


def refused(at, **told):
    with pytest.raises(ProblemError) as caught:
        asked(at, **told)
    return caught.value


def test_a_version_is_in_force_from_its_effective_day_on():
    first, *later = Shelf(BASELINE.parent.parent).ledger["baseline"].values()
    for record in (first, *later):
        found = asked(catalogs(), as_of=record.effective.isoformat())["ruleset"]
        assert (found["version"], found["digest"]) == (record.version, record.digest)
    error = refused(catalogs(), as_of=(first.effective - timedelta(days=1)).isoformat())
    assert error.kind.name == "ruleset-not-found"
    assert first.effective.isoformat() in error.detail


def test_the_number_of_validation_errors_is_told():
    assert refused(catalogs(), units="feet").detail == "1 validation error."
    assert refused(catalogs(), units="feet", unit="ft").detail == "2 validation errors."


def test_a_default_that_cannot_be_served_is_not_ready():
    with pytest.raises(ProblemError) as caught:
        catalogs(default_ruleset="acme").readiness()
    assert caught.value.kind.name == "not-ready"
    assert catalogs(default_ruleset="acme").default_rules() is None
    assert catalogs(today=date(2020, 1, 1)).default_rules() is None


def test_readiness_names_what_is_served():
    ready = catalogs().readiness()
    assert (ready.ruleset, ready.digest) == ("baseline@1.0.0", baseline().digest)


def test_a_version_that_is_named_is_refused_on_a_day_before_it_is_in_force():
    name = "baseline@1.0.0"
    first = Shelf(BASELINE.parent.parent).ledger["baseline"]["1.0.0"].effective
    on_it, before = first.isoformat(), (first - timedelta(days=1)).isoformat()
    assert asked(catalogs(), ruleset=name, as_of=on_it)["ruleset"]["version"] == "1.0.0"
    error = refused(catalogs(), ruleset=name, as_of=before)
    assert error.kind.name == "ruleset-not-found"
    assert on_it in error.detail


def test_a_version_that_is_named_without_a_day_is_taken_before_it_is_in_force():
    assert asked(catalogs(today=date(2020, 1, 1)), ruleset="baseline@1.0.0")


BLOCK = {"rows": 1, "columns": 2, "long_side": "66 in", "short_side": "40 in"}
LAID = {"array": {"blocks": [BLOCK]}}


@pytest.mark.parametrize(
    ("path", "body", "elsewhere"),
    [
        ("/v1/layout", {**FINE, **LAID}, True),
        ("/v1/materials", {**FINE, "layout": LAID}, True),
        ("/v1/materials", {**FINE, "perimeter": "90 ft"}, False),
        ("/v1/sizing", FINE, False),
        ("/v1/suitability", {}, False),
    ],
)
def test_layouts_are_made_in_another_thread_so_that_other_requests_go_on(path, body, elsewhere):
    call = next(call for call in CALLS if call.path == path)
    seen = []

    def compute(form, rules):
        seen.append(threading.current_thread())
        return call.compute(form, rules)

    watched = msgspec.structs.replace(call, compute=compute)
    answered(catalogs(), watched, json.dumps(body).encode())
    assert (seen[0] is not threading.current_thread()) == elsewhere


def test_a_fault_that_a_layout_finds_is_told_from_the_other_thread():
    call = next(call for call in CALLS if call.path == "/v1/layout")
    module = {"x": "0 in", "y": "0 in", "width": "40 in", "height": "66 in"}
    body = {**FINE, "array": {"modules": [module, module]}}
    with pytest.raises(ProblemError) as caught:
        answered(catalogs(), call, json.dumps(body).encode())
    assert [fault.pointer for fault in caught.value.faults] == ["/array/modules/1"]
