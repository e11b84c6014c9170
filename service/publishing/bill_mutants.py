"""Mutants of the bill: a line left out, or a ratio, pack, spare or minimum moved by a hair."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec

from service.publishing.mutant import HAIR_NM, Mutant, Path
from service.publishing.reach import ANY_LINE, ROLLS
from service.rulesets.ruleset import Item, Need, RuleSet


def bill_mutants(rules: RuleSet) -> Iterator[Mutant]:
    """Yield the rule set with each line of the bill changed a little, in turn."""
    for at, item in enumerate(rules.bill):
        rolls = (ROLLS,) if item.measured else ()
        for path, changed, other, touched in _item_mutants(item):
            yield Mutant(
                path=("bill", item.id, *path),
                changed=changed,
                touches=(touched, *rolls),
                make=partial(_with_item, rules, at, other),
            )


def _with_item(rules: RuleSet, at: int, item: Item | None) -> RuleSet:
    """Return the rule set with another line in a line's place, or none."""
    bill = (*rules.bill[:at], *((item,) if item else ()), *rules.bill[at + 1 :])
    return msgspec.structs.replace(rules, bill=bill)


def _item_mutants(item: Item) -> Iterator[tuple[Path, str, Item | None, str]]:
    """Yield where an item is changed, how in words, the changed item, and the rule touched."""
    yield (), f"{item.id} is left out", None, f"{item.rule}."
    for path, changed, needs, touched in _need_mutants("estimate", item.needs, item):
        yield path, changed, msgspec.structs.replace(item, needs=needs), touched
    if item.counted is not item.needs:
        for path, changed, needs, touched in _need_mutants("count", item.counted, item):
            yield path, changed, msgspec.structs.replace(item, counted=needs), touched
    yield from ((path, told, one, f"{item.rule}.{path[0]}") for path, told, one in _ends(item))


def _ends(item: Item) -> Iterator[tuple[Path, str, Item]]:
    """Yield the item with its pack, its spare and its minimum changed, as far as it has them."""
    if item.pack is not None:
        more = HAIR_NM if item.measured else 1
        pack = msgspec.structs.replace(item.pack, holds=item.pack.holds + more)
        yield ("pack",), f"a pack of {item.id} holds more", msgspec.structs.replace(item, pack=pack)
    if item.spare:
        spare = msgspec.structs.replace(item, spare=item.spare + Fraction(1, 100))
        yield ("spare",), f"the spare of {item.id} is more", spare
    if item.minimum:
        least = msgspec.structs.replace(item, minimum=item.minimum + 1)
        yield ("minimum",), f"the minimum of {item.id} is one more", least


def _need_mutants(
    part: str, needs: tuple[Need, ...], item: Item
) -> Iterator[tuple[Path, str, tuple[Need, ...], str]]:
    """Yield an item's needs with one of them changed, with words and the rule that is touched.

    A need that was not called for is cited by no line, so any line may show that it is now.
    """
    for at, need in enumerate(needs):
        found = ratio_changes(need.each, need.one_per, item.id, measured=item.measured)
        changes = [(changed, other, need.rule) for changed, other in found]
        if need.when:
            changes.append((f"{item.id} is needed always", {"when": ()}, ANY_LINE))
        for changed, other, touched in changes:
            moved = msgspec.structs.replace(need, **other)
            yield (part, need.id), changed, (*needs[:at], moved, *needs[at + 1 :]), touched


def ratio_changes(
    each: int, one_per: int, item: str, *, measured: bool
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield what a ratio can be moved to by a hair, with what was done, as words."""
    hair = HAIR_NM if one_per > 1_000_000 else 1
    yield f"{item} needs one more each time", {"each": each + 1}
    if not measured:
        yield f"one {item} goes a hair further", {"one_per": one_per + hair}
    if not measured and one_per > hair:
        yield f"one {item} goes a hair less far", {"one_per": one_per - hair}
