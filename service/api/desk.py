"""The desk at which a request is answered: it reads the form, picks the rules, and calls."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Literal

import msgspec

from service.api.envelope import Imprint, envelope
from service.api.intake import Intake, MalformedBodyError
from service.api.problems import ProblemError
from service.api.settings import Settings
from service.calls.computing import Call
from service.errors import BadInputError
from service.rulesets.reader import RuleFileError
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import NoSuchRulesetError, Shelf, WithdrawnError


class Readiness(msgspec.Struct, frozen=True, kw_only=True):
    """The default rule set can be served; `problems` tells of files that could not be loaded."""

    status: Literal["ready"]
    ruleset: str
    digest: str
    problems: tuple[str, ...]


class Desk:
    """Answers calls under the rule sets of one shelf; `today` gives the day (UTC)."""

    def __init__(self, settings: Settings, shelf: Shelf, today: Callable[[], date]) -> None:
        self.settings = settings
        self.shelf = shelf
        self._today = today
        self._imprints: dict[str, Imprint] = {}

    def default_imprint(self) -> Imprint | None:
        """Return the imprint of the default rule set; None when it cannot be served."""
        try:
            return self._imprint(self._default())
        except (NoSuchRulesetError, WithdrawnError, RuleFileError):
            return None

    def readiness(self) -> Readiness:
        """Return what is served. Raises ProblemError when the default rule set cannot be."""
        try:
            rules = self._default()
        except (NoSuchRulesetError, WithdrawnError, RuleFileError) as error:
            detail = f"The default rule set cannot be served. {error}"
            raise ProblemError("not-ready", detail) from None
        problems = tuple(str(problem) for problem in self.shelf.problems)
        return Readiness(status="ready", ruleset=rules.name, digest=rules.digest, problems=problems)

    def _default(self) -> RuleSet:
        return self.shelf.pick(self.settings.default_ruleset, self._today())

    def answer(self, call: Call, intake: Intake, body: bytes) -> tuple[bytes, Imprint]:
        """Return the encoded answer to a body, and the imprint of the rule set it follows.

        Raises ProblemError.
        """
        try:
            form, raw = intake.read(body)
        except MalformedBodyError as error:
            raise ProblemError("malformed-body", str(error)) from None
        except BadInputError as error:
            raise _unusable(error) from None
        rules = self._rules(form.ruleset, form.as_of)
        imprint = self._imprint(rules)
        try:
            computed = call.compute(form, rules)
        except BadInputError as error:
            raise _unusable(error, imprint) from None
        return envelope(raw, computed, imprint), imprint

    def _rules(self, name: str | None, as_of: date | None) -> RuleSet:
        try:
            return self.shelf.pick(name or self.settings.default_ruleset, as_of or self._today())
        except NoSuchRulesetError as error:
            raise ProblemError("no-such-ruleset", str(error)) from None
        except WithdrawnError as error:
            raise ProblemError("withdrawn-ruleset", str(error)) from None
        except RuleFileError as error:
            raise ProblemError("broken-ruleset", str(error)) from None

    def _imprint(self, rules: RuleSet) -> Imprint:
        imprint = self._imprints.get(rules.digest)
        if imprint is None:
            imprint = self._imprints[rules.digest] = Imprint(rules)
        return imprint


def _unusable(error: BadInputError, under: Imprint | None = None) -> ProblemError:
    count = len(error.faults)
    detail = "One thing is wrong with it." if count == 1 else f"{count} things are wrong with it."
    return ProblemError("unusable-request", detail, error.faults, under)
