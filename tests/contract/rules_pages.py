"""The pages of the rules desk over the shipped rule sets: where they are, what stands there."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlencode

from gapwright.calls.registry import BY_NAME
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import Shelf

from tests.contract.ask import FIRST, Service
from tests.contract.markup import Node, parsed
from tests.history import RULES as HISTORY

BROWSER = {"accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
RULES = HISTORY
SHELF = Shelf(RULES)
NAMES = [record.name for versions in SHELF.ledger.values() for record in versions.values()]
OVERLAYS = [name for name in NAMES if "based_on" in SHELF.document(name).tree]
OLD, NEW = NAMES[0], NAMES[1]


def rules_of(name: str) -> RuleSet:
    identifier, _, version = name.partition("@")
    return SHELF.load(SHELF.ledger[identifier][version])


def address(name: str) -> str:
    return f"/rules/{name.replace('@', '/')}"


def differences_address(before: str, after: str) -> str:
    (one, version), (other, to) = before.split("@"), after.split("@")
    return f"/rules/{one}/differences?{urlencode({'from': version, 'to_id': other, 'to': to})}"


def what_if_address(call: str, before: str, after: str, job: Any) -> str:
    text = job if isinstance(job, str) else json.dumps(job)
    query = {"call": call, "before": before, "after": after, "job": text}
    return f"/rules/what-if?{urlencode(query)}"


def job_of(call: str) -> dict[str, Any]:
    given = FIRST[f"/v1/{call}"]
    return {name: part for name, part in given.items() if name not in ("ruleset", "as_of")}


PAGES = [
    "/rules",
    "/rules/what-if",
    *(f"/rules/{identifier}" for identifier in SHELF.ledger),
    *(address(name) for name in NAMES),
    *(differences_address(NAMES[0], name) for name in NAMES),
    *(differences_address(name, NAMES[0]) for name in NAMES[1:]),
    *(what_if_address(call, NAMES[0], name, job_of(call)) for call in BY_NAME for name in NAMES),
    what_if_address("sizing", "nobody@1", "", '{"clearance": '),
    differences_address(NAMES[0], "nobody@1.0.0"),
]


_READ: dict[tuple[int, str], Node] = {}


def read(service: Service, path: str) -> Node:
    """Return a page of the service as a browser gets it, asked for once."""
    key = id(service), path
    if key not in _READ:
        answer = service.ask("GET", path, headers=BROWSER)
        assert answer.status_code in (200, 422), answer.text[:300]
        _READ[key] = parsed(answer.text)
    return _READ[key]


def cells(row: Node) -> dict[str, str]:
    """Return the texts of a table's row by the heads of its columns."""
    table = row.parent.parent
    heads = [cell.text for cell in table.one("thead").all("th")]
    return dict(zip(heads, (cell.text for cell in row.all("th", "td")), strict=True))


FAULTY = '{\n  "perimeter": "ninety",\n  "corners": -1,\n  "colour": "black",\n  "ruleset": "x"\n}'
