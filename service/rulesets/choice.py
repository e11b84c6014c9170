"""Which version a name calls for on a day: the newest in force, of a major number, or as named."""

from __future__ import annotations

from datetime import date

from service.errors import GapwrightError
from service.rulesets.ledger import Ledger, Record
from service.strict import unknown_name


class NoSuchRulesetError(GapwrightError):
    """No rule set of that name or version, or none in force that day; the message says which."""


class WithdrawnError(GapwrightError):
    """The version was withdrawn: it can be replayed, but nothing is quoted under it."""


def choose(ledger: Ledger, name: str, on: date, noun: str) -> Record:
    """Return the record that a name calls for on a day; `noun` says what it names, for messages.

    An effective date belongs to its version: on that day it is in force. Raises NoSuchRulesetError
    or WithdrawnError.
    """
    identifier, _, version = name.partition("@")
    versions = ledger.get(identifier)
    if versions is None:
        remedy = unknown_name(identifier, list(ledger)[:50])
        raise NoSuchRulesetError(f"There is no {noun} {identifier!r}. {remedy}".rstrip())
    if "@" in name and not version:
        raise NoSuchRulesetError(f"{name!r} names no version; leave the @ out for the newest.")
    if version in versions:
        return _standing(versions[version])
    if "." in version:
        known = ", ".join(versions)
        raise NoSuchRulesetError(f"{identifier} has no version {version!r}. Known: {known}.")
    return _in_force(name, version, list(versions.values()), on)


def _standing(record: Record) -> Record:
    if record.withdrawn is not None:
        raise WithdrawnError(
            f"{record.name} was withdrawn on {record.withdrawn}. It can be looked at and replayed,"
            " but nothing new is answered under it."
        )
    return record


def _in_force(name: str, major: str, records: list[Record], on: date) -> Record:
    standing = [record for record in records if record.withdrawn is None]
    if major:
        standing = [record for record in standing if record.version.split(".")[0] == major]
    if not standing:
        raise NoSuchRulesetError(f"There is no standing version of {name}.")
    in_force = [record for record in standing if record.effective <= on]
    if not in_force:
        first = standing[0].effective
        raise NoSuchRulesetError(
            f"No version of {name} is in force on {on}; the first from {first}."
        )
    return in_force[-1]
