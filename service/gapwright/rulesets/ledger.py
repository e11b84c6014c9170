"""The ledger: which versions are published, from what date, and which one a name refers to.

An append-only file in the folder of the rule sets, one record per line:

    published baseline@1.0.0 effective 2026-01-01 sha256:...
    withdrawn baseline@1.0.0 on 2026-11-30

A published version never changes: its file must keep the digest recorded here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

import msgspec

from gapwright.errors import GapwrightError
from gapwright.rulesets.reader import Problem, RuleFileError
from gapwright.strict import unknown_name

FILE = "ledger.txt"
_NUMBER = r"(?:0|[1-9][0-9]{0,5})"
_NAME = rf"(?P<id>[a-z][a-z0-9-]{{0,59}})@(?P<version>{_NUMBER}\.{_NUMBER}\.{_NUMBER})"
_PUBLISHED = re.compile(
    rf"published {_NAME} effective (?P<day>\d{{4}}-\d\d-\d\d) (?P<digest>sha256:[0-9a-f]{{64}})"
)
_WITHDRAWN = re.compile(rf"withdrawn {_NAME} on (?P<day>\d{{4}}-\d\d-\d\d)")


class RulesetNotFoundError(GapwrightError):
    """No rule set of that name or version, or none in force that day; the message says which."""


class WithdrawnError(GapwrightError):
    """The version was withdrawn: it can be replayed, but not used for new requests."""


class Record(msgspec.Struct, frozen=True, kw_only=True):
    """One published version."""

    id: str
    version: str
    effective: date
    digest: str
    withdrawn: date | None = None

    @property
    def name(self) -> str:
        """Return `id@version`."""
        return f"{self.id}@{self.version}"

    def line(self) -> str:
        """Return the line that records the publication."""
        return f"published {self.name} effective {self.effective} {self.digest}"


Ledger = Mapping[str, Mapping[str, Record]]
"""Records by id, then by version from the oldest to the newest."""


def version_key(version: str) -> tuple[int, ...]:
    """Return what orders semantic versions."""
    return tuple(int(part) for part in version.split("."))


def read_ledger(folder: Path) -> Ledger:
    """Return the ledger of a folder; empty where there is none.

    Raises RuleFileError for every invalid line, and for a version that is published twice.
    """
    try:
        text = (folder / FILE).read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise RuleFileError([_problem(1, f"The ledger cannot be read: {error}.")]) from None
    return parse_ledger(text.splitlines())


def parse_ledger(lines: Iterable[str]) -> Ledger:
    """Return the records of a ledger's lines. Raises RuleFileError."""
    records: dict[str, dict[str, Record]] = {}
    problems: list[Problem] = []
    for number, line in enumerate(lines, 1):
        if line.strip() and not line.startswith("#"):
            wrong = _take(line.strip(), records)
            if wrong:
                problems.append(_problem(number, wrong))
    if problems:
        raise RuleFileError(problems)
    return {name: _in_order(versions) for name, versions in records.items()}


def _in_order(versions: dict[str, Record]) -> dict[str, Record]:
    return dict(sorted(versions.items(), key=lambda item: version_key(item[0])))


def _take(line: str, records: dict[str, dict[str, Record]]) -> str:
    """Take one line into the records, and return what is wrong with it, if anything."""
    found = _PUBLISHED.fullmatch(line) or _WITHDRAWN.fullmatch(line)
    if found is None:
        return "This is not a valid ledger line."
    identifier, version, said = found.group("id", "version", "day")
    try:
        day = date.fromisoformat(said)
    except ValueError:
        return f"{said} is not a date."
    versions = records.setdefault(identifier, {})
    known = versions.get(version)
    if found.re is _WITHDRAWN:
        if known is None:
            return f"{identifier}@{version} was never published."
        versions[version] = msgspec.structs.replace(known, withdrawn=day)
    elif known is not None:
        return f"{known.name} is published twice; a published version never changes."
    else:
        versions[version] = Record(
            id=identifier, version=version, effective=day, digest=found["digest"]
        )
    return ""


def check_in_force(name: str, effective: date, as_of: date | None) -> None:
    """Raise RulesetNotFoundError for a version that is asked for on a day before it is in force."""
    if as_of is not None and as_of < effective:
        raise RulesetNotFoundError(
            f"{name} takes effect on {effective}, after {as_of}. Remove as_of, or name the rule set"
            " without a version."
        )


def choose(ledger: Ledger, name: str, on: date, noun: str) -> Record:
    """Return the record that a name calls for on a day; `noun` says what it names, for messages.

    An effective date belongs to its version: on that day it is in force. Raises
    RulesetNotFoundError or WithdrawnError.
    """
    identifier, _, version = name.partition("@")
    versions = ledger.get(identifier)
    if versions is None:
        remedy = unknown_name(identifier, list(ledger)[:50])
        raise RulesetNotFoundError(f"Unknown {noun} {identifier!r}. {remedy}".rstrip())
    if "@" in name and not version:
        raise RulesetNotFoundError(
            f"{name!r} has no version after the @. Remove the @ for the newest."
        )
    if version in versions:
        return _not_withdrawn(versions[version])
    if "." in version:
        known = ", ".join(versions)
        raise RulesetNotFoundError(
            f"{identifier} has no version {version!r}. Expected one of {known}."
        )
    return _in_force(name, version, list(versions.values()), on)


def _not_withdrawn(record: Record) -> Record:
    if record.withdrawn is not None:
        raise WithdrawnError(
            f"{record.name} was withdrawn on {record.withdrawn}. It can be viewed and replayed,"
            " but not used for new requests."
        )
    return record


def _in_force(name: str, major: str, records: list[Record], on: date) -> Record:
    usable = [record for record in records if record.withdrawn is None]
    if major:
        usable = [record for record in usable if record.version.split(".")[0] == major]
    if not usable:
        raise RulesetNotFoundError(
            f"All versions of {name} are withdrawn, or none has that major number."
        )
    in_force = [record for record in usable if record.effective <= on]
    if not in_force:
        first = usable[0].effective
        raise RulesetNotFoundError(
            f"No version of {name} is in effect on {on}. The first takes effect on {first}."
        )
    return in_force[-1]


def _problem(line: int, problem: str) -> Problem:
    remedy = "Restore the ledger; only publish and withdraw write to it."
    return Problem(file=FILE, line=line, column=1, key="ledger", problem=problem, remedy=remedy)
