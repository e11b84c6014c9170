"""A version in its order: not in force before the one it follows, and not looser than it says."""

from __future__ import annotations

from datetime import date

from service.errors import Fault
from service.publishing.changes import loosens
from service.rulesets.kind import V, Version
from service.rulesets.ledger import Record, version_key
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import AnyShelf, Shelf


def order_faults(rules: V, shelf: AnyShelf[V]) -> list[Fault]:
    """Return the faults of a version that takes effect out of turn."""
    earlier, later = _round(rules, shelf)
    return [
        Fault(
            path=("effective",),
            problem=f"It takes effect on {rules.effective}, {record.name} on {record.effective}.",
            remedy="A later version does not take effect before an earlier one.",
        )
        for record, wrong in (
            *((record, record.effective > day_of(rules)) for record in earlier),
            *((record, record.effective < day_of(rules)) for record in later),
        )
        if wrong
    ]


def looser_faults(rules: RuleSet, shelf: Shelf) -> list[Fault]:
    """Return the faults of a version that is looser than its major number says."""
    earlier, later = _round(rules, shelf)
    major = version_key(rules.version)[0]
    faults = []
    if earlier and version_key(earlier[0].version)[0] == major:
        faults.extend(_loosening(rules, shelf.load(earlier[0])))
    if later and version_key(later[0].version)[0] == major:
        faults.extend(_tightening(rules, shelf.load(later[0])))
    return faults


def _round(rules: V, shelf: AnyShelf[V]) -> tuple[list[Record], list[Record]]:
    """Return the published version before and the one after, as lists of one or none."""
    versions = shelf.ledger.get(rules.id, {})
    key = version_key(rules.version)
    earlier = [record for record in versions.values() if version_key(record.version) < key]
    later = [record for record in versions.values() if version_key(record.version) > key]
    return earlier[-1:], later[:1]


def day_of(rules: Version) -> date:
    """Return the day on which a version of a file takes effect."""
    assert rules.effective is not None  # a file without it was refused
    return rules.effective


def _loosening(rules: RuleSet, before: RuleSet) -> list[Fault]:
    major = version_key(rules.version)[0]
    return [
        Fault(
            path=tuple(change.entry.split(".")),
            problem=f"This is looser than in {before.name}.",
            remedy=f"A version that loosens anything moves the major number, to {major + 1}.0.0.",
        )
        for change in loosens(before, rules)
    ]


def _tightening(rules: RuleSet, after: RuleSet) -> list[Fault]:
    """Return the faults of a version that would make the next one, published already, looser."""
    return [
        Fault(
            path=tuple(change.entry.split(".")),
            problem=f"This is stricter than in {after.name}, which follows it.",
            remedy="A version between two others lies between them.",
        )
        for change in loosens(rules, after)
    ]
