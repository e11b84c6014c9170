"""The published rule sets and price books that the service answers with."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date
from typing import Generic, Literal

import msgspec
import structlog

from gapwright.api.problems import ProblemError
from gapwright.api.settings import Settings
from gapwright.errors import GapwrightError
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.pricebooks.shelf import PriceShelf, price_folder
from gapwright.rulesets.kind import V
from gapwright.rulesets.ledger import Record, RulesetNotFoundError, WithdrawnError, check_in_force
from gapwright.rulesets.reader import Problem, RuleFileError
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import AnyShelf, Shelf

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class Readiness(msgspec.Struct, frozen=True, kw_only=True):
    """The default rule set can be served; `problems` lists files that cannot be used."""

    status: Literal["ready"]
    """Always `ready`."""
    ruleset: str
    """The default rule set, as id@version."""
    digest: str
    """The digest of its content."""
    problems: tuple[str, ...]
    """Faults of files that cannot be used, one sentence each."""


class Catalog(Generic[V]):
    """The versions of one kind, rule sets or price books, on the shelf as it is now.

    `noun` is their word in paths and problem types: `ruleset` or `pricebook`.
    """

    def __init__(
        self, shelf: AnyShelf[V], default: str, noun: str, problems: tuple[Problem, ...] = ()
    ) -> None:
        self.shelf = shelf
        self.default = default
        self.noun = noun
        self.renewal_problems = problems
        """Why the shelf is not that of the folder as it is now."""

    async def pick(self, name: str | None, today: date, as_of: date | None) -> V:
        """Return the version that a request calls for; a file is read in another thread.

        Raises ProblemError. One request asks one shelf, whatever is renewed meanwhile.
        """
        shelf = self.shelf
        try:
            record = shelf.record(self.default if name is None else name, as_of or today)
        except RulesetNotFoundError as error:
            raise ProblemError(f"{self.noun}-not-found", str(error)) from None
        except WithdrawnError as error:
            raise ProblemError(f"{self.noun}-withdrawn", str(error)) from None
        return await self._load(shelf, record)

    async def version(self, identifier: str, version: str) -> V:
        """Return one version to look at, withdrawn or not. Raises ProblemError."""
        shelf = self.shelf
        record = shelf.ledger.get(identifier, {}).get(version)
        if record is None:
            raise self.unknown(f"{identifier}@{version}"[:160])
        return await self._load(shelf, record)

    def records(self, identifier: str) -> tuple[Record, ...]:
        """Return the records of all versions, the oldest first. Raises ProblemError."""
        if identifier not in self.shelf.ledger:
            raise self.unknown(identifier[:80])
        return tuple(self.shelf.ledger[identifier].values())

    def unknown(self, name: str) -> ProblemError:
        """Return the refusal of a name that is not in the ledger."""
        detail = f"{name} does not exist. See /v1/{self.noun}s."
        return ProblemError(f"{self.noun}-not-found", detail)

    async def renew(self) -> None:
        """Take up what has changed in the folder; a fault leaves the shelf as it was."""
        try:
            self.shelf = await asyncio.to_thread(self.shelf.renew)
        except RuleFileError as error:
            self.renewal_problems = error.problems
            problems = [str(problem) for problem in error.problems]
            log.error("not renewed", kind=self.noun, problems=problems)
        else:
            self.renewal_problems = ()
            log.info("renewed", kind=self.noun, count=len(self.shelf.ledger))

    def problems(self) -> tuple[Problem, ...]:
        """Return what was wrong with the ledger and with the files that were read so far."""
        return (*self.renewal_problems, *self.shelf.problems)

    async def _load(self, shelf: AnyShelf[V], record: Record) -> V:
        held = shelf.held(record)
        if held is not None:
            return held
        try:
            return await asyncio.to_thread(shelf.load, record)
        except RuleFileError as error:
            raise ProblemError(f"{self.noun}-unavailable", str(error)) from None


class Catalogs:
    """Both catalogs of the service; `today` gives the day (UTC)."""

    def __init__(self, settings: Settings, today: Callable[[], date]) -> None:
        self.settings = settings
        self.today = today
        shelf = Shelf(settings.rules)
        self.rules: Catalog[RuleSet] = Catalog(shelf, settings.default_ruleset, "ruleset")
        self.prices = _price_catalog(settings)

    async def pick_rules(
        self, name: str | None, as_of: date | None, today: date | None = None
    ) -> RuleSet:
        """Return the rule set that a request calls for. Raises ProblemError."""
        rules = await self.rules.pick(name, today or self.today(), as_of)
        try:
            check_in_force(rules.name, rules.effective, as_of)
        except RulesetNotFoundError as error:
            raise ProblemError("ruleset-not-found", str(error)) from None
        return rules

    async def pick_prices(self, name: str | None, as_of: date | None) -> PriceBook:
        """Return the price book that a request calls for. Raises ProblemError."""
        return await self.prices.pick(name, self.today(), as_of)

    def default_rules(self) -> RuleSet | None:
        """Return the default rule set; None when it cannot be served."""
        try:
            return self.rules.shelf.pick(self.rules.default, self.today())
        except GapwrightError:
            return None

    def readiness(self) -> Readiness:
        """Return what is served. Raises ProblemError when the default rule set cannot be."""
        try:
            rules = self.rules.shelf.pick(self.rules.default, self.today())
        except GapwrightError as error:
            detail = f"The default rule set cannot be served. {error}"
            raise ProblemError("not-ready", detail) from None
        found = [str(problem) for problem in self.rules.problems()]
        if self.prices.shelf.ledger:  # without any book that is no problem
            try:
                self.prices.shelf.pick(self.prices.default, self.today())
            except RuleFileError:
                pass  # it is among the problems of the shelf
            except GapwrightError as error:
                found.append(f"The default price book cannot be served. {error}")
        found += [f"prices/{problem}" for problem in self.prices.problems()]
        problems = tuple(dict.fromkeys(found))  # overlays share the faults of their base
        return Readiness(status="ready", ruleset=rules.name, digest=rules.digest, problems=problems)

    async def renew(self) -> None:
        """Take up what has changed in both folders."""
        await self.prices.renew()
        await self.rules.renew()


def _price_catalog(settings: Settings) -> Catalog[PriceBook]:
    """Return the price books; a ledger at fault stops nothing, and is read again when mended."""
    folder = price_folder(settings.rules)
    problems: tuple[Problem, ...] = ()
    try:
        shelf = PriceShelf(folder)
    except RuleFileError as error:
        shelf, problems = PriceShelf(folder, ledger={}), error.problems
    return Catalog(shelf, settings.default_pricebook, "pricebook", problems)
