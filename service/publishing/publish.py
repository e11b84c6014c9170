"""Publish and withdraw versions: the only writers of the ledger."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from service.errors import Fault
from service.publishing.changes import loosens
from service.publishing.examples import judge_examples
from service.publishing.head import head_faults
from service.publishing.untested import laid_out_limits, untested
from service.rulesets.build.build import build
from service.rulesets.ledger import FILE, Record, parse_ledger, version_key
from service.rulesets.reader import Document, RuleFileError
from service.rulesets.resolve import resolve
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import Shelf, read_file, whole


def judge(document: Document, shelf: Shelf) -> RuleSet:
    """Return the rule set of a file that is fit to be published.

    It is sound, it stands on versions that were not withdrawn, its examples hold and test each of
    its limits, it does not take effect before the version that it follows, and it moves the major
    number when it loosens anything. Raises RuleFileError with every fault.
    """
    rules = build(resolve(document, shelf.document))
    found = [*head_faults(rules, shelf), *judge_examples(rules)]
    if not found and rules.status == "published":
        found = untested(rules, laid_out_limits(rules, published=shelf.knows(rules)))
    rules.resolved.refuse([*found, *_order_faults(rules, shelf)])
    return rules


def publish(path: Path, folder: Path) -> Record:
    """Record a rule file as published, and return the record.

    Raises RuleFileError with every fault, also where the version was published before.
    """
    shelf = Shelf(folder)
    document = read_file(path.resolve(), folder)
    rules = judge(document, shelf)
    _check_place(rules, path, folder, document.file)
    record = Record(
        id=rules.id, version=rules.version, effective=rules.effective, digest=rules.digest
    )
    known = shelf.ledger.get(rules.id, {}).get(rules.version)
    if known is not None and known.digest == record.digest:
        return known
    if known is not None:
        problem = f"{rules.name} was published with other content."
        remedy = "A published version never changes; write a new version."
        raise RuleFileError([whole(document.file, problem, remedy)])
    _append(folder, record.line())
    return record


def withdraw(name: str, folder: Path, on: date) -> None:
    """Record a published version as withdrawn. Raises RuleFileError where there is none."""
    shelf = Shelf(folder)
    identifier, _, version = name.partition("@")
    record = shelf.ledger.get(identifier, {}).get(version)
    if record is None:
        problem = f"{name} was never published."
        raise RuleFileError([whole(FILE, problem, "Name a version as id@version.")])
    if record.withdrawn is None:
        _append(folder, f"withdrawn {record.name} on {on}")


def _check_place(rules: RuleSet, path: Path, folder: Path, file: str) -> None:
    problems = []
    if rules.status != "published":
        problem = f"The status is {rules.status}."
        problems.append(whole(file, problem, "Write status: published, then publish it."))
    if path.resolve() != (folder / rules.id / f"{rules.version}.yaml").resolve():
        problem = f"The file holds {rules.name}, and its place says otherwise."
        problems.append(whole(file, problem, f"Put it at {rules.id}/{rules.version}.yaml."))
    if problems:
        raise RuleFileError(problems)


def _order_faults(rules: RuleSet, shelf: Shelf) -> list[Fault]:
    """Return the faults of a version against the one that it follows."""
    versions = shelf.ledger.get(rules.id, {})
    key = version_key(rules.version)
    earlier = [record for record in versions.values() if version_key(record.version) < key]
    later = [record for record in versions.values() if version_key(record.version) > key]
    faults = [
        Fault(
            path=("effective",),
            problem=f"It takes effect on {rules.effective}, {record.name} on {record.effective}.",
            remedy="A later version does not take effect before an earlier one.",
        )
        for record, wrong in (
            *((record, record.effective > rules.effective) for record in earlier[-1:]),
            *((record, record.effective < rules.effective) for record in later[:1]),
        )
        if wrong
    ]
    if earlier and version_key(earlier[-1].version)[0] == key[0]:
        faults.extend(_loosening(rules, shelf.load(earlier[-1])))
    if later and version_key(later[0].version)[0] == key[0]:
        faults.extend(_tightening(rules, shelf.load(later[0])))
    return faults


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


def _append(folder: Path, line: str) -> None:
    """Add a line to the ledger, which must be readable with it. Raises RuleFileError."""
    path = folder / FILE
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    opened = "\n" if text and not text.endswith("\n") else ""
    parse_ledger(f"{text}{opened}{line}".splitlines())
    with path.open("a", encoding="utf-8") as ledger:
        ledger.write(f"{opened}{line}\n")
