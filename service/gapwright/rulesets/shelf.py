"""The shelf: the published versions of a folder, each loaded on first use.

A shelf is a snapshot of the folder. The ledger lists the versions and their effective dates, so no
file is read before it is needed, and a request uses one shelf from start to finish. Invalid files
are listed in `problems` and affect nothing else.
"""

from __future__ import annotations

import contextlib
import threading
from collections import OrderedDict
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any, Generic, Self

import msgspec

from gapwright.errors import Fault
from gapwright.rulesets.build.build import RULE_SETS
from gapwright.rulesets.kind import Kind, V, Version
from gapwright.rulesets.ledger import FILE, Ledger, Record, choose, read_ledger
from gapwright.rulesets.reader import MOST_BYTES, Document, Problem, RuleFileError, read
from gapwright.rulesets.resolve import Resolved, resolve
from gapwright.rulesets.ruleset import RuleSet

MOST_LOADED = 256
"""Versions held in memory at once, and documents of bases; the least recently loaded go first."""


Stamp = tuple[int, int, int]
"""What shows whether a file has changed: its times of modification and of change, and its size.

The time of the last change to its entry cannot be set back, as that of its content can.
"""


class AnyShelf(Generic[V]):
    """The versions of one kind in one folder, as its ledger records them."""

    kind: Kind[V]

    def __init__(self, folder: Path, ledger: Ledger | None = None) -> None:
        """Read the ledger, unless it is given. Raises RuleFileError when it is at fault."""
        self.folder = folder
        self.ledger: Ledger = read_ledger(folder) if ledger is None else ledger
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
            *(one for _, version in loaded for one in _withdrawn_problems(version, self.ledger)),
        )

    def pick(self, name: str, on: date) -> V:
        """Return the version of `id` in force on a day, of `id@1` with that major, or as named.

        Raises RulesetNotFoundError, WithdrawnError, or RuleFileError when the version that is
        called for cannot be used: no other one is quietly taken in its place.
        """
        return self.load(self.record(name, on))

    def record(self, name: str, on: date) -> Record:
        """Return the record of the version that a name calls for on a day, as `choose` does."""
        return choose(self.ledger, name, on, self.kind.noun)

    def find(self, name: str) -> Record | None:
        """Return the record of `id@version`, None where that was never published."""
        identifier, _, version = name.partition("@")
        return self.ledger.get(identifier, {}).get(version)

    def held(self, record: Record) -> V | None:
        """Return a version that is in memory; None where `load` would read a file."""
        found = self._loaded.get(record.name)
        return found[1] if found is not None else None

    def load(self, record: Record) -> V:
        """Return a published version, from memory or from its file.

        Raises RuleFileError when the file is invalid, or differs from what was published.
        """
        held = self.held(record)
        if held is not None:
            return held
        with self._lock:
            if record.name in self._loaded:  # another thread read it while this one waited
                return self._loaded[record.name][1]
            refused = self._refused.get(record.name)
            if refused is not None and refused[0] == self.stamp(record):
                raise RuleFileError(list(refused[1]))  # the file has not changed since
            stamp, version = self._read(record)
            _keep(self._loaded, record.name, (stamp, version))
            return version

    def inspect(self, record: Record) -> None:
        """Read a version only to update `problems`, without caching it."""
        with self._lock, contextlib.suppress(RuleFileError):
            if record.name not in self._loaded:
                self._read(record)

    def refused(self) -> list[Record]:
        """Return the versions that could not be used when they were last read."""
        return [record for name in list(self._refused) if (record := self.find(name))]

    def status(self, version: V) -> str:
        """Return a version's status as the ledger has it, whatever its file says."""
        record = self.find(version.name)
        if record is None:
            return "draft"
        return "published" if record.withdrawn is None else "withdrawn"

    def knows(self, version: V) -> bool:
        """Return whether a version is recorded as published, with just this content."""
        record = self.find(version.name)
        return record is not None and record.digest == version.digest

    def fingerprint(self) -> tuple[Any, ...]:
        """Return what shows whether `renew` has anything to do: the ledger, and changed files."""
        changed = []
        for name, (stamp, version) in list(self._loaded.items()):
            now = self.stamp(self.ledger[version.id][version.version])
            if now != stamp:
                changed.append((name, now))
        return (_stamp(self.folder / FILE), tuple(changed))

    def renew(self) -> Self:
        """Return a shelf of the folder as it is now, with what is still good taken over.

        A version whose file has changed is read again at once; where that fails the good one that
        was loaded stays, and the problem is listed. Raises RuleFileError when the ledger is at
        fault, or a published record was changed.
        """
        fresh = type(self)(self.folder)
        _check_lasting(self.ledger, fresh.ledger)
        for name in list(self._refused):  # what still cannot be used is listed again
            if record := fresh.find(name):
                with contextlib.suppress(RuleFileError):
                    fresh.load(record)
        with self._lock:
            loaded = list(self._loaded.items())
        for name, (stamp, version) in loaded:
            record = fresh.find(name)
            if record is None:
                continue
            if fresh.stamp(record) != stamp:
                with contextlib.suppress(RuleFileError):  # listed in fresh.problems
                    fresh.load(record)
            if fresh.held(record) is None:
                _keep(fresh._loaded, name, (stamp, version))
        return fresh

    def stamp(self, record: Record) -> Stamp | None:
        """Return the stamp of a version's file, None where there is none."""
        return _stamp(self.path(record))

    def path(self, record: Record) -> Path:
        """Return the path of the file of a version."""
        return self.folder / record.id / f"{record.version}.yaml"

    def _read(self, record: Record) -> tuple[Stamp | None, V]:
        """Return a version from its file, and note whether it can be used. Raises RuleFileError."""
        stamp = self.stamp(record)
        try:
            own = read_file(self.path(record), self.folder)
            version = self.kind.build(self.resolve(own))
            if version.name != record.name:
                problem = f"The file contains {version.name}, not {record.name}."
                raise RuleFileError([whole(own.file, problem, "Restore the file.")])
            _check_digest(version.digest, record, own.file)
        except RuleFileError as error:
            self._refused[record.name] = (stamp, error.problems)
            raise
        self._refused.pop(record.name, None)
        return stamp, version

    def document(self, name: str) -> Document:
        """Return the document of `id@version`. Raises KeyError where it was never published."""
        record = self.find(name)
        if record is None:
            raise KeyError("Publish that version first, or use a published one.")
        document = self._bases.get(name)
        if document is None:
            document = read_file(self.path(record), self.folder)
            resolved = self.resolve(document)
            resolved.refuse_changes()
            _check_digest(self.kind.digest(resolved.content), record, document.file)
            _keep(self._bases, name, document)
        return document

    def resolve(self, document: Document) -> Resolved:
        """Return the whole content of a document, based on what is published here.

        Raises RuleFileError.
        """
        return resolve(document, self.document, self.kind)


class Shelf(AnyShelf[RuleSet]):
    """The rule sets of one folder."""

    kind = RULE_SETS


def _check_digest(digest: str, record: Record, file: str) -> None:
    """Raise RuleFileError if a file differs from what was published."""
    if digest != record.digest:
        problem = f"The file differs from the published {record.name}."
        remedy = "Restore it, and make changes in a new version."
        raise RuleFileError([whole(file, problem, remedy)])


def _keep(held: OrderedDict[str, Any], name: str, one: object) -> None:
    held[name] = one
    while len(held) > MOST_LOADED:
        held.popitem(last=False)


def read_file(path: Path, folder: Path) -> Document:
    """Return the document of a file, named by its place in the folder. Raises RuleFileError."""
    shown = str(path.relative_to(folder)) if path.is_relative_to(folder) else str(path)
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            # opening a pipe would wait for its other end
            raise RuleFileError(
                [whole(shown, "This is not a regular file.", "Replace it with a file.")]
            )
        with path.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except OSError as error:
        problem = f"The file cannot be read: {error.strerror}."
        raise RuleFileError([whole(shown, problem, "Check its name and permissions.")]) from None
    return read(data, shown)


def _stamp(path: Path) -> Stamp | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_ctime_ns, found.st_size


def whole(file: str, problem: str, remedy: str) -> Problem:
    """Return a problem with a file as a whole."""
    return Problem(file=file, line=1, column=1, key="the file", problem=problem, remedy=remedy)


def _check_lasting(before: Ledger, after: Ledger) -> None:
    """Raise RuleFileError where a record that was published has changed or is gone.

    It may have been withdrawn meanwhile, but not otherwise.
    """
    changed = []
    for record in (record for versions in before.values() for record in versions.values()):
        now = after.get(record.id, {}).get(record.version)
        withdrawn = record.withdrawn or (now and now.withdrawn)
        if now != msgspec.structs.replace(record, withdrawn=withdrawn):
            changed.append(record.name)
    if changed:
        problem = f"The ledger lines of {', '.join(changed)} were changed or removed."
        raise RuleFileError([whole(FILE, problem, "Restore the ledger; it is append-only.")])


def withdrawn_bases(version: Version, ledger: Ledger) -> list[Record]:
    """Return the versions that one is based on and that were withdrawn, the root first."""
    found = []
    for document in version.resolved.documents[:-1]:
        identifier, number = str(document.tree.get("id")), str(document.tree.get("version"))
        record = ledger.get(identifier, {}).get(number)
        if record is not None and record.withdrawn is not None:
            found.append(record)
    return found


def _withdrawn_problems(version: Version, ledger: Ledger) -> Iterator[Problem]:
    """Yield a problem for each withdrawn version that a version, itself in force, rests on."""
    own = ledger.get(version.id, {}).get(version.version)
    if own is None or own.withdrawn is not None:
        return
    document = version.resolved.documents[-1]
    for base in withdrawn_bases(version, ledger):
        yield document.problem(
            Fault(
                path=("based_on",),
                problem=f"{base.name} was withdrawn on {base.withdrawn}.",
                remedy="It still works; publish a version based on one that was not withdrawn.",
            )
        )
