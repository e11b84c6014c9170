"""Every operation of the contract, asked by schemathesis with all of its checks.

The short form stands in the test command: the examples of the document, every case that the coverage
phase derives from the schemas, and a bounded, repeatable share of fuzzing. The long run draws new
data each time:

    CONTRACT_EXAMPLES=5000 python -m pytest tests/contract/test_schemathesis.py
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from schemathesis.checks import CHECKS, load_all_checks

from service.api.app import create_app
from service.quantity.kinds import Perimeter
from tests.contract.ask import TODAY
from tests.contract.formats import FORMATS

EXAMPLES = int(os.environ.get("CONTRACT_EXAMPLES", "0"))
"""Fuzzed requests for each operation; 0: the short form."""

CONFIG: dict[str, Any] = {
    "generation": {"deterministic": not EXAMPLES, "max-examples": EXAMPLES or 50},
    "checks": {"max_response_time": 2.0},
    "analysis": {"constants": {"enabled": False}},
}
"""All checks are on, the one for slow answers with its limit in seconds.

Constants: valid data are not to be mixed with words from the source of the service. Whether a word
is valid is asked of a validator that takes any text for a format it does not know, so it would
call `GET` a valid strip width. The texts of `formats` stand in their place.
"""

for name, texts in FORMATS.items():
    schemathesis.openapi.format(name, texts)

load_all_checks()

contract = schemathesis.openapi.from_asgi(
    "/openapi.json",
    create_app(today=lambda: TODAY),
    config=schemathesis.Config.from_dict(CONFIG),
)


@contract.hook
def filter_case(context: schemathesis.HookContext, case: schemathesis.Case) -> bool:
    """Keep the one rule between members that JSON Schema cannot state, where data are to be valid."""
    return case.meta.generation.mode.is_negative or all(map(zones_fit, objects(case.body)))


@contract.parametrize()
def test_no_check_fails(case: schemathesis.Case):
    case.call_and_validate()


def objects(value: Any) -> Iterator[dict[str, Any]]:
    """Yield a value and what it holds, as far as these are objects."""
    if isinstance(value, dict):
        yield value
        for item in value.values():
            yield from objects(item)


def zones_fit(request: dict[str, Any]) -> bool:
    """Return whether zones are parts of the perimeter: together no longer than it."""
    if "perimeter" not in request or "zones" not in request:
        return True
    zones = sum(Perimeter.read(length) for length in request["zones"].values())
    return zones <= Perimeter.read(request["perimeter"])


@pytest.mark.parametrize("check", [*CHECKS.get_all_names(), "max_response_time"])
def test_every_check_takes_part(check: str):
    assert contract.config.checks.get_by_name(name=check).enabled
