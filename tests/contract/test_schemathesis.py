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
from schemathesis.checks import CHECKS, load_all_checks

from service.api.app import create_app
from service.quantity.kinds import Perimeter
from tests.contract.ask import EXAMPLES, TODAY
from tests.contract.formats import FORMATS

DRAWN = int(os.environ.get("CONTRACT_EXAMPLES", "0"))
"""Fuzzed requests for each operation; 0: the short form."""

CONFIG: dict[str, Any] = {
    "generation": {"deterministic": not DRAWN, "max-examples": DRAWN or 20},
    "checks": {"max_response_time": 10.0},
    "analysis": {"constants": {"enabled": False}},
    "operations": [
        {
            "include-path": "/v1/quotes",
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

BLOCK = EXAMPLES["/v1/layout"]["layout-block"]
TWO_PLANES = EXAMPLES["/v1/layout"]["layout-two-planes"]
PLACED = ("rails", "penetrations", "edges", "facings")
"""What must lie where the array is."""

COUNTED = ("corners", "penetrations", "zones")
"""What a layout counts itself."""

for name, texts in FORMATS.items():
    schemathesis.openapi.format(name, texts)


@schemathesis.serializer("application/jsonl", "application/x-ndjson")
def lines(_: Any, value: Any) -> bytes:
    """Return a body of lines: the text that was drawn, and each example as a line below it."""
    examples = [json.dumps(one) for one in EXAMPLES["/v1/quote"].values()]
    return "\n".join((str(value), *examples)).encode("utf-8", "surrogatepass")


load_all_checks()
answered: set[str] = set()

contract = schemathesis.openapi.from_asgi(
    "/openapi.json",
    create_app(today=lambda: TODAY),
    config=schemathesis.Config.from_dict(CONFIG),
)


@contract.hook
def map_case(context: schemathesis.HookContext, case: schemathesis.Case) -> schemathesis.Case:
    """Where data are to be valid, keep the rules between members that JSON Schema cannot state."""
    if case.meta.generation.mode.is_positive:
        case.body = valid(case.body)
    return case


@contract.parametrize()
def test_no_check_fails(case: schemathesis.Case):
    """Valid requests that `valid` made alike are sent once."""
    key = json.dumps([case.path, case.body], sort_keys=True, default=str)
    if case.meta.generation.mode.is_positive and case.body and key in answered:
        return
    case.call_and_validate()
    answered.add(key)


def valid(request: Any) -> Any:
    """Return a request with arrays that can stand, zones that fit, and nothing counted twice.

    Whether modules overlap or a ring crosses itself is not for JSON Schema to say: the arrays
    of the examples stand in for drawn ones.
    """
    if not isinstance(request, dict):
        return request
    request = {name: valid(value) for name, value in request.items()}
    if request.get("planes"):
        request |= {name: TWO_PLANES.get(name) for name in ("array", "planes")}
    elif request.get("array") is not None:
        request["array"] = BLOCK["array"]
    if request.get("planes") or request.get("array"):
        request = {name: value for name, value in request.items() if name not in PLACED}
    if request.get("layout"):
        request = {name: value for name, value in request.items() if name not in COUNTED}
    if not zones_fit(request):
        del request["zones"]
    return request


def zones_fit(request: dict[str, Any]) -> bool:
    """Return whether zones are parts of the perimeter: together no longer than it."""
    if not request.get("perimeter") or not request.get("zones"):
        return True
    zones = sum(Perimeter.read(length) for length in request["zones"].values())
    return zones <= Perimeter.read(request["perimeter"])


@pytest.mark.parametrize("check", [*CHECKS.get_all_names(), "max_response_time"])
def test_every_check_takes_part(check: str):
    assert contract.config.checks.get_by_name(name=check).enabled
