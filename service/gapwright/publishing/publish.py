"""Publish and withdraw versions: the only writers of the ledger."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from gapwright.errors import Fault
from gapwright.pricebooks.build import is_price_book
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.pricebooks.shelf import FOLDER, PriceShelf, price_folder
from gapwright.publishing.changes import loosens
from gapwright.publishing.examples import judge_examples
from gapwright.publishing.untested import laid_out_limits, untested
from gapwright.rulesets.build.build import build
from gapwright.rulesets.kind import V, Version
from gapwright.rulesets.ledger import FILE, Record, parse_ledger, version_key
from gapwright.rulesets.measure import Faults
from gapwright.rulesets.reader import Document, RuleFileError
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import AnyShelf, Shelf, read_file, whole, withdrawn_bases

RESERVED = ("check", "what-if")
"""Ids that are already part of a URL of the service."""


def judge(document: Document, shelf: Shelf) -> RuleSet:
    """Return the rule set of a file that can be published.

    It is valid, it is based on versions that were not withdrawn, its examples pass and test each of
    its limits, it does not take effect before the previous version, and it has a new major number
    if it loosens a rule. Raises RuleFileError with every fault.
    """
    rules = build(shelf.resolve(document))
    found = [*head_faults(rules, shelf), *judge_examples(rules)]
    if not found and rules.status == "published":
        found = untested(rules, laid_out_limits(rules, published=shelf.knows(rules)))
    rules.resolved.refuse([*found, *order_faults(rules, shelf), *looser_faults(rules, shelf)])
    return rules


def judge_book(document: Document, shelf: PriceShelf) -> PriceBook:
    """Return the price book of a file that can be published.

    It is valid, and does not take effect before the previous version. Raises RuleFileError
    with every fault.
    """
    book = shelf.kind.build(shelf.resolve(document))
    book.resolved.refuse(order_faults(book, shelf))
    return book


def judge_file(path: Path, folder: Path, prices: Path) -> Version:
    """Return the rule set or price book of a file; `folder` and `prices` have the published ones.

    Raises RuleFileError with every fault.
    """
    document = read_file(path, folder)
    if is_price_book(document.tree):
        return judge_book(read_file(path, prices), PriceShelf(prices))
    return judge(document, Shelf(folder))


def head_faults(rules: RuleSet, shelf: Shelf) -> list[Fault]:
    """Return what keeps a file from being published as new; nothing where it was published.

    Its name is free, and its bases were not withdrawn.
    """
    faults = Faults()
    if shelf.knows(rules):
        return faults
    if rules.id in RESERVED:
        problem = f"The id {rules.id} is reserved for a URL of the service."
        faults.add(("id",), problem, "Choose another id.")
    for base in withdrawn_bases(rules, shelf.ledger):
        problem = f"{base.name} was withdrawn on {base.withdrawn}."
        faults.add(("based_on",), problem, "Base it on a version that was not withdrawn.")
    return faults


def order_faults(version: V, shelf: AnyShelf[V]) -> list[Fault]:
    """Return the faults of a version that takes effect out of turn."""
    faults = Faults()
    earlier, later = _neighbors(version, shelf)
    day = _day(version)
    for record, wrong in (
        (earlier, earlier is not None and earlier.effective > day),
        (later, later is not None and later.effective < day),
    ):
        if record is not None and wrong:
            other = f"{record.name} takes effect on {record.effective}"
            problem = f"This takes effect on {day}, but {other}."
            remedy = "A later version cannot take effect before an earlier one."
            faults.add(("effective",), problem, remedy)
    return faults


def looser_faults(rules: RuleSet, shelf: Shelf) -> list[Fault]:
    """Return the faults of a version that is looser than its major number says."""
    faults = Faults()
    earlier, later = _neighbors(rules, shelf)
    major = version_key(rules.version)[0]
    if earlier is not None and version_key(earlier.version)[0] == major:
        remedy = f"A version that loosens a rule needs a new major number: {major + 1}.0.0."
        for change in loosens(shelf.load(earlier), rules):
            problem = f"This is looser than in {earlier.name}."
            faults.add(tuple(change.entry.split(".")), problem, remedy)
    if later is not None and version_key(later.version)[0] == major:
        for change in loosens(rules, shelf.load(later)):
            problem = f"This is stricter than in {later.name}, which follows it."
            remedy = "A version must be no stricter than the next one."
            faults.add(tuple(change.entry.split(".")), problem, remedy)
    return faults


def _neighbors(version: V, shelf: AnyShelf[V]) -> tuple[Record | None, Record | None]:
    """Return the published version before and the one after."""
    records = list(shelf.ledger.get(version.id, {}).values())
    key = version_key(version.version)
    earlier = [record for record in records if version_key(record.version) < key]
    later = [record for record in records if version_key(record.version) > key]
    return (earlier[-1] if earlier else None), (later[0] if later else None)


def _day(version: Version) -> date:
    """Return the day on which a version of a file takes effect."""
    assert version.effective is not None  # a file without it was refused
    return version.effective


def publish(path: Path, folder: Path) -> Record:
    """Record a rule file or a price book as published, and return the record.

    Raises RuleFileError with every fault, also where the version was published before with other
    content.
    """
    document = read_file(path.resolve(), folder)
    if is_price_book(document.tree):
        prices = PriceShelf(folder)
        return _record(judge_book(document, prices), path, document.file, prices)
    shelf = Shelf(folder)
    return _record(judge(document, shelf), path, document.file, shelf)


def _record(version: V, path: Path, file: str, shelf: AnyShelf[V]) -> Record:
    """Record what was judged, unless just that was recorded before, and return the record."""
    _check_place(version, path, shelf, file)
    record = Record(
        id=version.id, version=version.version, effective=_day(version), digest=version.digest
    )
    known = shelf.ledger.get(version.id, {}).get(version.version)
    if known is not None and known.digest == record.digest:
        return known
    if known is not None:
        problem = f"{version.name} was published with different content."
        remedy = "A published version never changes. Write a new version."
        raise RuleFileError([whole(file, problem, remedy)])
    _append(shelf.folder, record.line())
    return record


def withdraw(name: str, folder: Path, on: date) -> None:
    """Record a published version as withdrawn; that of a price book is `prices/id@version`.

    Raises RuleFileError where there is none.
    """
    if name.startswith(f"{FOLDER}/"):
        name, folder = name.removeprefix(f"{FOLDER}/"), price_folder(folder)
    shelf = Shelf(folder)
    identifier, _, version = name.partition("@")
    record = shelf.ledger.get(identifier, {}).get(version)
    if record is None:
        problem = f"{name} was never published."
        remedy = f"Expected id@version, or {FOLDER}/id@version for a price book."
        raise RuleFileError([whole(FILE, problem, remedy)])
    if record.withdrawn is None:
        _append(folder, f"withdrawn {record.name} on {on}")


def _check_place(version: Version, path: Path, shelf: AnyShelf[Any], file: str) -> None:
    folder, problems = shelf.folder.resolve(), []
    if isinstance(shelf, PriceShelf):
        if folder.name != FOLDER:
            remedy = f"Put it in the {FOLDER} folder next to the rule sets."
            problems.append(whole(file, "This is a price book.", remedy))
    elif folder.name == FOLDER and (folder.parent / FILE).is_file():
        remedy = "Put it in the parent folder."
        problems.append(whole(file, "This is a rule file in the price book folder.", remedy))
    if version.status != "published":
        problem = f"The status is {version.status}."
        problems.append(whole(file, problem, "Set status: published, then publish it."))
    if path.resolve() != (folder / version.id / f"{version.version}.yaml").resolve():
        problem = f"The file contains {version.name}, but its path does not match."
        problems.append(whole(file, problem, f"Move it to {version.id}/{version.version}.yaml."))
    if problems:
        raise RuleFileError(problems)


def _append(folder: Path, line: str) -> None:
    """Add a line to the ledger, which must be readable with it. Raises RuleFileError."""
    path = folder / FILE
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    opened = "\n" if text and not text.endswith("\n") else ""
    parse_ledger(f"{text}{opened}{line}".splitlines())
    with path.open("a", encoding="utf-8") as ledger:
        ledger.write(f"{opened}{line}\n")
