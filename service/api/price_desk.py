"""The price books of the desk: which one a request calls for, and what cannot be used."""

from __future__ import annotations

import asyncio
from datetime import date
from pathlib import Path

import structlog

from service.api.problems import ProblemError
from service.pricebooks.pricebook import PriceBook
from service.pricebooks.shelf import PriceShelf, price_folder
from service.rulesets.choice import NoSuchRulesetError, WithdrawnError
from service.rulesets.reader import Problem, RuleFileError

log: structlog.stdlib.BoundLogger = structlog.get_logger()


class PriceDesk:
    """The shelf of price books beside the rule sets; what is wrong with it stops nothing else."""

    def __init__(self, rules: Path, default: str) -> None:
        self.default = default
        self.renewal_problems: tuple[Problem, ...] = ()
        folder = price_folder(rules)
        try:
            self.shelf = PriceShelf(folder)
        except RuleFileError as error:
            self.shelf = PriceShelf(folder, ledger={})  # taken up as soon as the ledger is mended
            self.renewal_problems = error.problems

    async def book(self, name: str | None, on: date) -> PriceBook:
        """Return the price book that a request calls for; a file is read in another thread.

        Raises ProblemError.
        """
        shelf = self.shelf
        try:
            record = shelf.record(self.default if name is None else name, on)
            held = shelf.held(record)
            return held if held is not None else await asyncio.to_thread(shelf.load, record)
        except NoSuchRulesetError as error:
            raise ProblemError("no-such-pricebook", str(error)) from None
        except WithdrawnError as error:
            raise ProblemError("withdrawn-pricebook", str(error)) from None
        except RuleFileError as error:
            raise ProblemError("broken-pricebook", str(error)) from None

    async def version(self, identifier: str, version: str) -> PriceBook:
        """Return one version to look at, withdrawn or not. Raises ProblemError."""
        shelf = self.shelf
        record = shelf.ledger.get(identifier, {}).get(version)
        if record is None:
            shown = f"{identifier}@{version}"[:160]
            raise ProblemError("no-such-pricebook", f"There is no {shown}. See /v1/pricebooks.")
        try:
            return await asyncio.to_thread(shelf.load, record)
        except RuleFileError as error:
            raise ProblemError("broken-pricebook", str(error)) from None

    def problems(self, on: date) -> tuple[str, ...]:
        """Return what cannot be used; a service without any price book has no problem with them."""
        told = []
        if self.shelf.ledger:
            try:
                self.shelf.pick(self.default, on)
            except (NoSuchRulesetError, WithdrawnError) as error:
                told.append(f"The default price book cannot be served. {error}")
            except RuleFileError:
                pass  # it is among the problems of the shelf
        found = (*self.renewal_problems, *self.shelf.problems)
        return (*told, *(f"prices/{problem}" for problem in found))

    async def renew(self) -> None:
        """Take up what has changed in the folder; a fault leaves the shelf as it was."""
        try:
            self.shelf = await asyncio.to_thread(self.shelf.renew)
        except RuleFileError as error:
            self.renewal_problems = error.problems
            log.error("prices not renewed", problems=[str(problem) for problem in error.problems])
        else:
            self.renewal_problems = ()
            log.info("prices renewed", pricebooks=len(self.shelf.ledger))
