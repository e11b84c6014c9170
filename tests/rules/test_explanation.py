"""An explanation is complete, shown by changing every rule.

Complete: whatever figure moves when an entry is changed, slightly or coarsely, cites the entry.
To the point: the aim is that nine of ten cited pairs of figure and entry move under some change.
The full run prints the share; it was two of three with baseline 1.3.0, so no test asserts it yet.

    python -m tests.rules.test_explanation      every job and change; prints the shares
"""

from __future__ import annotations

import re
import sys
from collections import defaultdict
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import msgspec

from service.calls.computing import BY_NAME
from service.errors import BadInputError, GapwrightError
from service.places import shipped
from service.quantity.output import encode
from service.rulesets.recording import recording
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import Shelf
from service.strict import convert
from tests.rules.changes import coarse_changes, hair_changes
from tests.rules.jobs import JOBS
from tests.unit.calls.quotes import demo

NAMES = ("task", "surcharge", "change", "item", "need", "tax", "tool", "fact", "rule", "name")
RULES = "baseline@2.0.0"


@lru_cache(maxsize=1)
def rules() -> RuleSet:
    identifier, version = RULES.split("@")
    shelf = Shelf(shipped("rules"))
    return shelf.load(shelf.ledger[identifier][version])


@lru_cache(maxsize=1)
def changes() -> list[tuple[str, RuleSet]]:
    return [*hair_changes(rules()), *coarse_changes(rules())]


def answered(call: str, request: Any, used: RuleSet) -> Any:
    """Return the result as plain data, None where the rules cannot answer the request."""
    form = convert(request, BY_NAME[call].form)
    books = (demo(),) if BY_NAME[call].priced else ()
    try:
        return msgspec.json.decode(
            encode(BY_NAME[call].compute(form, used, *books).result, "imperial")
        )
    except (BadInputError, GapwrightError):
        return None


def name_of(one: Any, place: int) -> str:
    """Return what a thing in a list is called, so that it is known again at another place."""
    if not isinstance(one, dict):
        return str(place)
    name = next((str(one[n]).split(".")[-1] for n in NAMES if one.get(n)), str(place))
    width = one.get("strip_width")
    return f"{name} {width['text']}" if isinstance(width, dict) and "item" in one else name


def leaves(part: Any, at: str = "") -> dict[str, Any]:
    if isinstance(part, list) and part and isinstance(part[0], dict):
        part = {name_of(one, place): one for place, one in enumerate(part)}
    if isinstance(part, dict) and part:
        return {p: v for name, one in part.items() for p, v in leaves(one, f"{at}/{name}").items()}
    return {at: part or (0 if part in (0, False) else None)}


def named(pointer: str, result: Any) -> str:
    steps = []
    for step in pointer.split("/")[1:]:
        if isinstance(result, list):
            result = result[int(step)]
            steps.append(name_of(result, int(step)))
        else:
            result = result.get(step) if result is not None else None
            steps.append(step)
    return "".join(f"/{step}" for step in steps)


class Explained:
    """One answer with what each of its figures cites."""

    def __init__(self, call: str, request: Any) -> None:
        recorded = recording(rules())
        self.result = answered(call, request, recorded)
        assert self.result is not None, request
        self.figures = leaves(self.result)
        assert recorded.recorder is not None
        self.cites: dict[str, set[str]] = {}
        for pointer, keys in recorded.recorder.shown.items():
            self.cites.setdefault(named(pointer, self.result), set()).update(keys)

    def telling(self, figure: str) -> list[str]:
        """Return the pointers that tell of a figure: on it, round it, or inside it."""
        return [
            p for p in self.cites if f"{figure}/".startswith(f"{p}/") or p.startswith(f"{figure}/")
        ]


def sort(pointer: str) -> str:
    """Return what sort of figure stands at a pointer: mesh is the same in any width."""
    return re.sub(r" [0-9/ ]+ in(?=/|$)", "", pointer)


class Findings:
    """What changes of rules showed: pairs looked at, missing citations, and needed ones."""

    def __init__(self) -> None:
        self.pairs = 0
        self.missing: dict[str, set[str]] = defaultdict(set)
        self.cited: set[tuple[str, str, str]] = set()
        self.moving: set[tuple[str, str, str]] = set()

    def look(self, call: str, request: Any, some: list[tuple[str, RuleSet]]) -> None:
        before = Explained(call, request)
        self.cited |= {(call, sort(p), key) for p, keys in before.cites.items() for key in keys}
        for key, changed in some:
            after = answered(call, request, changed)
            if after is not None:
                self._compare(call, key, before, leaves(after))

    def _compare(self, call: str, key: str, before: Explained, after: dict[str, Any]) -> None:
        for figure in before.figures.keys() | after.keys():
            if before.figures.get(figure) == after.get(figure):
                continue
            self.pairs += 1
            telling = [p for p in before.telling(figure) if key in before.cites[p]]
            self.moving |= {(call, sort(p), key) for p in telling}
            if not telling:
                self.missing[f"{call} {key}"].add(figure)

    def idle(self) -> set[tuple[str, str, str]]:
        return self.cited - self.moving


def every(part: int = 1) -> Iterator[tuple[str, Any, list[tuple[str, RuleSet]]]]:
    """Yield each job with every `part`th change, another part for each job."""
    for number, (call, request) in enumerate(JOBS):
        yield call, request, changes()[number % part :: part]


def test_whatever_figure_a_rule_moves_cites_the_rule() -> None:
    found = Findings()
    for call, request, some in every(part=12):
        found.look(call, request, some)
    assert found.pairs > 2_000
    assert {rule: sorted(figures)[:5] for rule, figures in found.missing.items()} == {}


def test_a_result_is_the_same_with_and_without_an_explanation() -> None:
    for call, request in JOBS:
        assert answered(call, request, recording(rules())) == answered(call, request, rules())


def main() -> None:
    found = Findings()
    for call, request, some in every(part=int(sys.argv[1]) if len(sys.argv) > 1 else 1):
        found.look(call, request, some)
    idle = found.idle()
    print(f"{found.pairs} moved pairs, {sum(map(len, found.missing.values()))} not cited")
    for rule, figures in sorted(found.missing.items()):
        print("  missing", rule, sorted(figures)[:6])
    print(f"{len(found.cited)} cited pairs, {1 - len(idle) / len(found.cited):.1%} move")
    by_key: dict[str, list[str]] = defaultdict(list)
    for call, pointer, key in sorted(idle):
        by_key[key].append(f"{call} {pointer}")
    for key, where in sorted(by_key.items(), key=lambda one: -len(one[1]))[:40]:
        print("  idle", key, len(where), where[:4])


if __name__ == "__main__":
    main()
