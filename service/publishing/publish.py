"""Publish and withdraw versions: the only writers of the ledger."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from service.pricebooks.build import is_price_book
from service.pricebooks.pricebook import PriceBook
from service.pricebooks.shelf import FOLDER, PriceShelf, price_folder
from service.publishing.examples import judge_examples
from service.publishing.head import head_faults
from service.publishing.order import day_of, looser_faults, order_faults
from service.publishing.untested import laid_out_limits, untested
from service.rulesets.build.build import build
from service.rulesets.kind import V, Version
from service.rulesets.ledger import FILE, Record, parse_ledger
from service.rulesets.reader import Document, RuleFileError
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import AnyShelf, Shelf, read_file, whole


def judge(document: Document, shelf: Shelf) -> RuleSet:
    """Return the rule set of a file that is fit to be published.

    It is sound, it stands on versions that were not withdrawn, its examples hold and test each of
    its limits, it does not take effect before the version that it follows, and it moves the major
    number when it loosens anything. Raises RuleFileError with every fault.
    """
    rules = build(shelf.resolve(document))
    found = [*head_faults(rules, shelf), *judge_examples(rules)]
    if not found and rules.status == "published":
        found = untested(rules, laid_out_limits(rules, published=shelf.knows(rules)))
    rules.resolved.refuse([*found, *order_faults(rules, shelf), *looser_faults(rules, shelf)])
    return rules


def judge_book(document: Document, shelf: PriceShelf) -> PriceBook:
    """Return the price book of a file that is fit to be published.

    It is sound, and does not take effect before the version that it follows. Raises RuleFileError
    with every fault.
    """
    book = shelf.kind.build(shelf.resolve(document))
    book.resolved.refuse(order_faults(book, shelf))
    return book


def judge_file(path: Path, folder: Path, prices: Path) -> Version:
    """Return the rule set or price book of a file; `folder` and `prices` hold those published.

    Raises RuleFileError with every fault.
    """
    document = read_file(path, folder)
    if is_price_book(document.tree):
        return judge_book(read_file(path, prices), PriceShelf(prices))
    return judge(document, Shelf(folder))


def publish(path: Path, folder: Path) -> Record:
    """Record a rule file or a price book as published, and return the record.

    Raises RuleFileError with every fault, also where the version was published before.
    """
    document = read_file(path.resolve(), folder)
    if is_price_book(document.tree):
        prices = PriceShelf(folder)
        return _record(judge_book(document, prices), path, document.file, prices)
    shelf = Shelf(folder)
    return _record(judge(document, shelf), path, document.file, shelf)


def _record(rules: V, path: Path, file: str, shelf: AnyShelf[V]) -> Record:
    """Record what was judged, unless just that was recorded before, and return the record."""
    folder = shelf.folder
    _check_place(rules, path, shelf, file)
    record = Record(
        id=rules.id, version=rules.version, effective=day_of(rules), digest=rules.digest
    )
    known = shelf.ledger.get(rules.id, {}).get(rules.version)
    if known is not None and known.digest == record.digest:
        return known
    if known is not None:
        problem = f"{rules.name} was published with other content."
        remedy = "A published version never changes; write a new version."
        raise RuleFileError([whole(file, problem, remedy)])
    _append(folder, record.line())
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
        raise RuleFileError(
            [whole(FILE, problem, f"Name it as id@version, a price book as {FOLDER}/id@version.")]
        )
    if record.withdrawn is None:
        _append(folder, f"withdrawn {record.name} on {on}")


def _check_place(rules: Version, path: Path, shelf: AnyShelf[Any], file: str) -> None:
    folder, problems = shelf.folder.resolve(), []
    if isinstance(shelf, PriceShelf):
        if folder.name != FOLDER:
            remedy = f"Put it into the folder {FOLDER} beside the rule sets."
            problems.append(whole(file, "This is a price book.", remedy))
    elif folder.name == FOLDER and (folder.parent / FILE).is_file():
        remedy = "Put it into the folder above."
        problems.append(whole(file, "This is a rule file, and price books stand here.", remedy))
    if rules.status != "published":
        problem = f"The status is {rules.status}."
        problems.append(whole(file, problem, "Write status: published, then publish it."))
    if path.resolve() != (folder / rules.id / f"{rules.version}.yaml").resolve():
        problem = f"The file holds {rules.name}, and its place says otherwise."
        problems.append(whole(file, problem, f"Put it at {rules.id}/{rules.version}.yaml."))
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
