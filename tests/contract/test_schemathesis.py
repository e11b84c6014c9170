"""Every operation of the contract, asked by schemathesis with all of its checks.

The short form stands in the test command: the examples of the document, every case that the
coverage phase derives from the schemas, and a bounded, repeatable share of fuzzing. The long run
draws new data each time:

    CONTRACT_EXAMPLES=5000 python -m pytest tests/contract/test_schemathesis.py
"""

from __future__ import annotations

import json
import os
from typing import Any

import pytest
import schemathesis
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks

from tests.contract.ask import EXAMPLES, POSTS, TODAY
from tests.contract.formats import FORMATS
from tests.contract.sound import sound, with_constraints
from tests.history import RULES as HISTORY

DRAWN = int(os.environ.get("CONTRACT_EXAMPLES", "0"))
"""Fuzzed requests for each operation; 0: the short form."""

FEWEST = 6
"""Fuzzed requests that each computing call is to answer at least."""

CONFIG: dict[str, Any] = {
    "generation": {"deterministic": not DRAWN, "max-examples": DRAWN or 20},
    "checks": {
        "max_response_time": 10.0,
        "negative_data_rejection": {"expected-statuses": [400, 404, 413, 415, 422]},
    },
    "analysis": {"constants": {"enabled": False}},
    "operations": [
        {
            "include-path": "/v1/quote/batch",
            "checks": {"negative_data_rejection": {"enabled": False}},
        }
    ],
}
"""All checks are on, the one for slow answers with its usual limit in seconds.

Any bytes are a body of lines: what is wrong with one is told on its own line, with status 200.

Constants: valid data are not to be mixed with words from the source of the service. Whether a word
is valid is asked of a validator that takes any text for a format it does not know, so it would
call `GET` a valid strip width. The texts of `formats` stand in their place.
"""

for name, texts in FORMATS.items():
    schemathesis.openapi.format(name, texts)


@schemathesis.serializer("application/octet-stream")
def lines(_: Any, value: Any) -> bytes:
    """Return a body of lines: the text that was drawn, and each example as a line below it."""
    examples = [json.dumps(one) for one in EXAMPLES["/v1/quote"].values()]
    return "\n".join((str(value), *examples)).encode("utf-8", "surrogatepass")


@schemathesis.hook
def before_load_schema(_: Any, raw_schema: dict[str, Any]) -> None:
    """Draw requests whose members go together."""
    with_constraints(raw_schema)


load_all_checks()
answered: set[str] = set()

contract = schemathesis.openapi.from_asgi(
    "/openapi.json",
    create_app(Settings(rules=HISTORY), today=lambda: TODAY),
    config=schemathesis.Config.from_dict(CONFIG),
)


@contract.hook
def map_case(context: schemathesis.HookContext, case: schemathesis.Case) -> schemathesis.Case:
    """Keep what JSON Schema cannot state where a request is to be answered.

    Schemathesis looks at a request anew when a hook changes it: one that no longer fits the schema
    would be sent as one that the service must refuse, and nobody would notice.
    """
    if case.meta.generation.mode.is_positive and isinstance(case.body, dict):
        case.body = sound(case.path, case.body)
        assert case.meta.generation.mode.is_positive, case.body
    return case


@contract.parametrize()
def test_no_check_fails(case: schemathesis.Case):
    """Valid requests that were mended alike are sent once."""
    key = json.dumps([case.path, case.body], sort_keys=True, default=str)
    if case.meta.generation.mode.is_positive and case.body and key in answered:
        return
    case.call_and_validate()
    answered.add(key)


@pytest.mark.parametrize("path", POSTS)
def test_requests_that_are_drawn_from_the_contract_are_answered(path: str):
    """Or refused for a day on which no version was in force; only different ones are counted."""
    different: set[str] = set()

    @settings(
        max_examples=DRAWN or 20,
        derandomize=not DRAWN,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(contract[path]["POST"].as_strategy(generation_mode=GenerationMode.POSITIVE))
    def ask(case: schemathesis.Case) -> None:
        status = case.call_and_validate().status_code
        assert status in (200, 404)
        if status == 200:
            different.add(json.dumps(case.body, sort_keys=True))

    ask()
    assert len(different) >= FEWEST


@pytest.mark.parametrize("check", [*CHECKS.get_all_names(), "max_response_time"])
def test_every_check_takes_part(check: str):
    assert contract.config.checks.get_by_name(name=check).enabled
