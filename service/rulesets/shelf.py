"""The shelf: the published rule sets of a folder, each loaded when it is first asked for.

A shelf is one view of the folder: the ledger says which versions there are and since when, so no
rule file is read before it is needed, and one request sees one shelf from beginning to end. What
cannot be used is told in `problems`, and breaks nothing else.
"""

from __future__ import annotations

import contextlib
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any, Generic, Self

import msgspec

from service.errors import Fault
from service.rulesets.choice import choose
from service.rulesets.kind import RULE_SETS, Kind, V
from service.rulesets.ledger import FILE, Ledger, Record, read_ledger
from service.rulesets.reader import MOST_BYTES, Document, Problem, RuleFileError, read
from service.rulesets.resolve import Resolved, resolve
from service.rulesets.ruleset import RuleSet
from service.rulesets.withdrawn import withdrawn_problems

MOST_LOADED = 256
"""Rule sets held in memory at once; the least recently used go first."""

Judge = Callable[[V], list[Fault]]
"""Judges a version that is sound in itself, as by its own examples."""


class Stamp(msgspec.Struct, frozen=True):
    """What tells whether a file has changed.

    The time of the last change to its entry cannot be set back, as that of its content can.
    """

    modified_ns: int
    changed_ns: int
    size: int


def no_judge(_: object) -> list[Fault]:
    """Judge nothing."""
    return []


class AnyShelf(Generic[V]):
    """The versions of one kind in one folder, as its ledger records them."""

    kind: Kind[V]

    def __init__(
        self, folder: Path, judge: Judge[V] = no_judge, ledger: Ledger | None = None
    ) -> None:
        """Read the ledger, unless it is given. Raises RuleFileError when it is at fault."""
        self.folder = folder
        self.ledger: Ledger = read_ledger(folder) if ledger is None else ledger
        self._judge = judge
        self._recorded: dict[tuple[str, date], Record] = {}
        self._loaded: OrderedDict[str, tuple[Stamp, V]] = OrderedDict()
        self._refused: dict[str, tuple[Stamp | None, tuple[Problem, ...]]] = {}
        self._bases: OrderedDict[str, Document] = OrderedDict()
        self._lock = threading.RLock()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Return what was wrong with the files that have been read so far."""
        refusals, loaded = tuple(self._refused.values()), tuple(self._loaded.values())
        return (
            *(problem for _, found in refusals for problem in found),
            *(told for _, rules in loaded for told in withdrawn_problems(rules, self.ledger)),
        )

    def pick(self, name: str, on: date) -> V:
        """Return the version of `id` in force on a day, of `id@1` with that major, or as named.

        Raises NoSuchRulesetError, WithdrawnError, or RuleFileError when the version that is called
        for cannot be used: no other one is quietly taken in its place.
        """
        return self.load(self.record(name, on))

    def record(self, name: str, on: date) -> Record:
        """Return the record of the version that a name calls for on a day.

        An effective date belongs to its version: on that day it is in force. Raises
        NoSuchRulesetError or WithdrawnError.
        """
        found = self._recorded.get((name, on))
        if found is None:
            found = choose(self.ledger, name, on, self.kind.noun)
            if len(self._recorded) >= MOST_LOADED:
                self._recorded.clear()
            self._recorded[name, on] = found
        return found

    def load(self, record: Record) -> V:
        """Return a published version, from memory or from its file.

        Raises RuleFileError when the file is at fault, or is not what was published.
        """
        held = self.held(record)
        if held is not None:
            return held
        with self._lock:
            if record.name in self._loaded:  # another thread read it while this one waited
                return self._loaded[record.name][1]
            seen = self.stamp(record)
            refused = self._refused.get(record.name)
            if refused is not None and refused[0] == seen:
                raise RuleFileError(list(refused[1]))  # the file has not changed since
            stamp, rules = self._tried(record, seen)
            self._keep(record.name, stamp, rules)
            return rules

    def inspect(self, record: Record) -> None:
        """Read a version for the sake of `problems` alone; it is not kept."""
        with self._lock, contextlib.suppress(RuleFileError):
            if record.name not in self._loaded:
                self._tried(record, self.stamp(record))

    def _tried(self, record: Record, seen: Stamp | None) -> tuple[Stamp, V]:
        """Return a version from its file, and note whether it can be used. Raises RuleFileError."""
        try:
            found = self._read(record)
        except RuleFileError as error:
            self._refused[record.name] = (seen, error.problems)
            raise
        self._refused.pop(record.name, None)
        return found

    def refused(self) -> list[Record]:
        """Return the versions that could not be used when they were last read."""
        return [
            self.ledger[identifier][version]
            for identifier, _, version in (name.partition("@") for name in list(self._refused))
        ]

    def status(self, rules: V) -> str:
        """Return a rule set's status as the ledger has it, whatever its file says."""
        record = self.ledger.get(rules.id, {}).get(rules.version)
        if record is None:
            return "draft"
        return "published" if record.withdrawn is None else "withdrawn"

    def knows(self, rules: RuleSet) -> bool:
        """Return whether a rule set is recorded as published, with just this content."""
        record = self.ledger.get(rules.id, {}).get(rules.version)
        return record is not None and record.digest == rules.digest

    def held(self, record: Record) -> V | None:
        """Return a version that is in memory; None where `load` would read a file."""
        name = record.name
        kept = self._loaded.get(name)
        if kept is None:
            return None
        if len(self._loaded) * 2 >= MOST_LOADED:  # else none is about to go
            self._touch(name)
        return kept[1]

    def fingerprint(self) -> tuple[Any, ...]:
        """Return what tells whether `renew` has anything to do: the ledger, and changed files."""
        changed = []
        for name, (stamp, rules) in list(self._loaded.items()):
            now = self.stamp(self.ledger[rules.id][rules.version])
            if now != stamp:
                changed.append((name, now))
        return (_stamp(self.folder / FILE), tuple(changed))

    def renew(self) -> Self:
        """Return a shelf of the folder as it is now, with what is still good taken over.

        A version whose file has changed is read again at once; where that fails the good one that
        was loaded stays, and the problem is told. Raises RuleFileError when the ledger is at
        fault, or a published record was changed.
        """
        fresh = type(self)(self.folder, self._judge)
        _check_lasting(self.ledger, fresh.ledger)
        fresh._look_again(self._refused)
        with self._lock:
            loaded = list(self._loaded.items())
        for name, (stamp, rules) in loaded:
            record = fresh.ledger.get(rules.id, {}).get(rules.version)
            if record is None:
                continue
            if fresh.stamp(record) != stamp:
                try:
                    fresh.load(record)
                    continue
                except RuleFileError:
                    pass  # told in fresh.problems
            fresh._keep(name, stamp, rules)
        return fresh

    def _look_again(self, told: Mapping[str, object]) -> None:
        """Load what could not be used before; what still cannot be is told again."""
        for name in told:
            identifier, _, version = name.partition("@")
            record = self.ledger.get(identifier, {}).get(version)
            if record is not None:
                with contextlib.suppress(RuleFileError):
                    self.load(record)

    def stamp(self, record: Record) -> Stamp | None:
        """Return the stamp of a version's file, None where there is none."""
        return _stamp(self.path(record))

    def path(self, record: Record) -> Path:
        """Return where the file of a version stands."""
        return self.folder / record.id / f"{record.version}.yaml"

    def _read(self, record: Record) -> tuple[Stamp, V]:
        stamp = self.stamp(record)
        own = read_file(self.path(record), self.folder)
        rules = self.kind.build(self.resolve(own))
        file = rules.resolved.documents[-1].file
        if stamp is None or rules.name != record.name:
            raise RuleFileError([whole(file, f"The file holds {rules.name}.", "Put it back.")])
        self._check_published(own, record)
        rules.resolved.refuse(self._judge(rules))
        return stamp, rules

    def document(self, name: str) -> Document:
        """Return the document of `id@version`. Raises KeyError where it was never published."""
        identifier, _, version = name.partition("@")
        record = self.ledger.get(identifier, {}).get(version)
        if record is None:
            raise KeyError("Publish that version first, or name one that is published.")
        document = self._bases.get(name)
        if document is None:
            document = read_file(self.path(record), self.folder)
            self._check_published(document, record)
            self._bases[name] = document
            while len(self._bases) > MOST_LOADED:
                self._bases.popitem(last=False)
        return document

    def resolve(self, document: Document) -> Resolved:
        """Return the whole content of a document, based on what is published here.

        Raises RuleFileError.
        """
        return resolve(document, self.document, self.kind.files)

    def _check_published(self, document: Document, record: Record) -> None:
        """Raise RuleFileError where a document is not what was published."""
        resolved = self.resolve(document)
        resolved.refuse_changes()
        if self.kind.digest(resolved.content) != record.digest:
            problem = f"The file is not what was published as {record.name}."
            remedy = "Restore it, and write what is new in a new version."
            raise RuleFileError([whole(document.file, problem, remedy)])

    def _touch(self, name: str) -> None:
        """Mark a version as used last, unless another thread is at the shelf just now."""
        if self._lock.acquire(blocking=False):
            try:
                self._loaded.move_to_end(name)
            except KeyError:
                pass  # it was let go a moment ago
            finally:
                self._lock.release()

    def _keep(self, name: str, stamp: Stamp, rules: V) -> None:
        self._loaded[name] = (stamp, rules)
        while len(self._loaded) > MOST_LOADED:
            self._loaded.popitem(last=False)


class Shelf(AnyShelf[RuleSet]):
    """The rule sets of one folder."""

    kind = RULE_SETS


def read_file(path: Path, folder: Path) -> Document:
    """Return the document of a file, named by its place in the folder. Raises RuleFileError."""
    shown = str(path.relative_to(folder)) if path.is_relative_to(folder) else str(path)
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            # opening a pipe would wait for its other end
            raise RuleFileError([whole(shown, "It is no file.", "Put a file in its place.")])
        with path.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except OSError as error:
        problem = f"The file cannot be read: {error.strerror}."
        raise RuleFileError([whole(shown, problem, "Check its name and rights.")]) from None
    return read(data, shown)


def _stamp(path: Path) -> Stamp | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return Stamp(found.st_mtime_ns, found.st_ctime_ns, found.st_size)


def whole(file: str, problem: str, remedy: str) -> Problem:
    """Return a problem with a file as a whole."""
    return Problem(file=file, line=1, column=1, key="the file", problem=problem, remedy=remedy)


def _check_lasting(before: Ledger, after: Ledger) -> None:
    """Raise RuleFileError where a record that was published has changed or is gone."""
    changed = [
        record.name
        for versions in before.values()
        for record in versions.values()
        if not _lasts(record, after.get(record.id, {}).get(record.version))
    ]
    if changed:
        problem = f"The records of {', '.join(changed)} were changed or struck out."
        raise RuleFileError([whole(FILE, problem, "Restore the ledger; it is only added to.")])


def _lasts(record: Record, now: Record | None) -> bool:
    """Return whether a record still says what it said; it may have been withdrawn meanwhile."""
    if now is None or (now.digest, now.effective) != (record.digest, record.effective):
        return False
    return record.withdrawn is None or record.withdrawn == now.withdrawn
