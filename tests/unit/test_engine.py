"""The engine in process: the same answers as over HTTP, and no side effects for its host."""

from __future__ import annotations

import subprocess
import sys

import pytest
from gapwright import CrewSheetUnavailableError, Engine, InvalidRequestError, RulesetNotFoundError

from tests.contract.ask import EXAMPLES, TODAY, Service
from tests.history import RULES as HISTORY

CALLS = ("suitability", "sizing", "materials", "layout", "quote")
QUIET = """
import logging, sys, threading
before = (logging.root.level, list(logging.root.handlers), threading.active_count())
from gapwright import Engine
Engine().sizing({"clearance": {"readings": ["5 in"]}})
assert before == (logging.root.level, list(logging.root.handlers), threading.active_count())
heavy = {"litestar", "structlog", "uvicorn", "jinja2", "typst", "segno"}
print(*sorted(heavy & sys.modules.keys()))
"""


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine(HISTORY, today=lambda: TODAY)


@pytest.fixture(scope="module")
def service():
    asked = Service()
    yield asked
    asked.close()


@pytest.mark.parametrize(
    ("call", "name"), [(call, name) for call in CALLS for name in EXAMPLES[f"/v1/{call}"]]
)
def test_the_engine_answers_as_the_service_does(engine: Engine, service: Service, call, name):
    request = EXAMPLES[f"/v1/{call}"][name]
    assert getattr(engine, call)(request) == service.shown(f"/v1/{call}", name).json()


def test_the_engine_prints_the_same_crew_sheet(engine: Engine, service: Service):
    path = "/v1/quote/crew-sheet"
    request = EXAMPLES[path]["quote-house"]
    assert engine.crew_sheet(request) == service.shown(path, "quote-house").content


def test_a_request_that_cannot_be_used_is_refused_with_every_fault(engine: Engine):
    with pytest.raises(InvalidRequestError) as refused:
        engine.materials({"perimeter": 90, "clearence": {"readings": ["4 in"]}})
    pointers = [fault.pointer for fault in refused.value.faults]
    assert pointers == ["/perimeter", "/clearence", "/clearance"]


@pytest.mark.parametrize(
    "choice",
    [
        {"ruleset": "nobody"},
        {"ruleset": ""},
        {"as_of": "2020-01-01"},
        {"ruleset": "baseline@2.0.0", "as_of": "2026-02-01"},  # not yet in force on that day
    ],
)
def test_a_rule_set_that_does_not_answer_is_refused_as_over_http(
    engine: Engine, service: Service, choice
):
    request = {"clearance": {"readings": ["4 in"]}} | choice
    refusal = service.post("/v1/sizing", request)
    with pytest.raises(RulesetNotFoundError) as refused:
        engine.sizing(request)
    assert refusal.status_code == 404
    assert refusal.json()["detail"] == str(refused.value)


def test_no_crew_is_sent_to_an_unsuitable_job(engine: Engine):
    job = EXAMPLES["/v1/quote"]["quote-perimeter"] | {"site": {"active_nest": True}}
    with pytest.raises(CrewSheetUnavailableError) as refused:
        engine.crew_sheet(job)
    assert refused.value.faults


def test_a_host_that_imports_the_engine_sees_no_side_effect():
    ran = subprocess.run([sys.executable, "-c", QUIET], capture_output=True, text=True, check=False)
    assert (ran.stdout.strip(), ran.stderr) == ("", "")
