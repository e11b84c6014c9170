"""The shelf: all rule sets of a folder, loaded once, chosen by name, version and day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import msgspec

from service.errors import GapwrightError
from service.rulesets.build import build
from service.rulesets.reader import Problem, RuleFileError, read
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name


class NoSuchRulesetError(GapwrightError):
    """No rule set of that name or version, or none in force that day; the message says which."""


class Shelf(msgspec.Struct, frozen=True, kw_only=True):
    """Rule sets by id, each with its versions from the oldest to the newest.

    `problems` are those of the files that could not be loaded.
    """

    rulesets: Mapping[str, tuple[RuleSet, ...]]
    problems: tuple[Problem, ...]

    def pick(self, name: str, on: date) -> RuleSet:
        """Return the rule set `id` in force on a day, or `id@version` as named.

        Raises NoSuchRulesetError.
        """
        identifier, _, version = name.partition("@")
        versions = self.rulesets.get(identifier)
        if versions is None:
            remedy = unknown_name(identifier, list(self.rulesets))
            raise NoSuchRulesetError(f"There is no rule set {identifier!r}. {remedy}".rstrip())
        if version:
            return _named(identifier, version, versions)
        in_force = [rules for rules in versions if rules.effective <= on]
        if not in_force:
            first = versions[0].effective
            raise NoSuchRulesetError(
                f"No version of {identifier} is in force on {on}. The first one is from {first}."
            )
        return in_force[-1]


def load(folder: Path) -> Shelf:
    """Return the shelf of a folder that holds one folder a rule set and one file a version."""
    rulesets: dict[str, list[RuleSet]] = {}
    problems: list[Problem] = []
    for path in sorted(folder.glob("*/*.yaml")):
        try:
            rules = load_file(path, folder)
        except RuleFileError as error:
            problems.extend(error.problems)
        else:
            rulesets.setdefault(rules.id, []).append(rules)
    ordered = {
        name: tuple(sorted(versions, key=lambda rules: version_key(rules.version)))
        for name, versions in rulesets.items()
    }
    return Shelf(rulesets=ordered, problems=tuple(problems))


def load_file(path: Path, folder: Path) -> RuleSet:
    """Return the rule set of one file. Raises RuleFileError with every fault of it."""
    shown = str(path.relative_to(folder)) if path.is_relative_to(folder) else path.name
    try:
        data = path.read_bytes()
    except OSError as error:
        problem = f"The file cannot be read: {error.strerror}."
        raise RuleFileError([_whole(shown, problem, "Check its name and rights.")]) from None
    rules = build(read(data, shown))
    if (path.parent.name, path.stem) != (rules.id, rules.version) and path.is_relative_to(folder):
        problem = f"The file holds {rules.name}, and its place says otherwise."
        remedy = f"Put it at {rules.id}/{rules.version}.yaml."
        raise RuleFileError([_whole(shown, problem, remedy)])
    return rules


def version_key(version: str) -> tuple[int, ...]:
    """Return what orders semantic versions."""
    return tuple(int(part) for part in version.split("."))


def _named(identifier: str, version: str, versions: tuple[RuleSet, ...]) -> RuleSet:
    for rules in versions:
        if rules.version == version:
            return rules
    known = ", ".join(rules.version for rules in versions)
    raise NoSuchRulesetError(f"{identifier} has no version {version!r}. Known here: {known}.")


def _whole(file: str, problem: str, remedy: str) -> Problem:
    return Problem(file=file, line=1, column=1, key="the file", problem=problem, remedy=remedy)
