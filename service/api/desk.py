"""The desk at which a request is answered: it reads the form, picks the rules, and calls."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

import structlog

from service.api.envelope import Imprint, answer
from service.api.health import Readiness
from service.api.intake import Intake, MalformedBodyError
from service.api.price_desk import PriceDesk
from service.api.problems import ProblemError
from service.api.settings import Settings
from service.calls.computing import Call
from service.calls.forms import Form
from service.errors import BadInputError
from service.pricebooks.pricebook import PriceBook
from service.rulesets.choice import NoSuchRulesetError, WithdrawnError
from service.rulesets.ledger import Record
from service.rulesets.reader import Problem, RuleFileError
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import Shelf
from service.strict import MOST_FAULTS

log: structlog.stdlib.BoundLogger = structlog.get_logger()

F = TypeVar("F", bound=Form)
_LONG_BODY_BYTES = 65_536


class Desk:
    """Answers calls under the rule sets of the shelf; `today` gives the day (UTC)."""

    def __init__(self, settings: Settings, shelf: Shelf, today: Callable[[], date]) -> None:
        self.settings = settings
        self.shelf = shelf
        self.today = today
        self.prices = PriceDesk(settings.rules, settings.default_pricebook)
        self.renewal_problems: tuple[Problem, ...] = ()
        self._imprints: WeakKeyDictionary[RuleSet, Imprint] = WeakKeyDictionary()

    def default_imprint(self) -> Imprint | None:
        """Return the imprint of the default rule set; None when it cannot be served."""
        try:
            return self.imprint(self._default())
        except (NoSuchRulesetError, WithdrawnError, RuleFileError):
            return None

    def readiness(self) -> Readiness:
        """Return what is served. Raises ProblemError when the default rule set cannot be."""
        try:
            rules = self._default()
        except (NoSuchRulesetError, WithdrawnError, RuleFileError) as error:
            detail = f"The default rule set cannot be served. {error}"
            raise ProblemError("not-ready", detail) from None
        told = [str(problem) for problem in (*self.renewal_problems, *self.shelf.problems)]
        told += self.prices.problems(self.today())
        problems = tuple(dict.fromkeys(told))  # a fault of a base is one of all that rest on it
        return Readiness(status="ready", ruleset=rules.name, digest=rules.digest, problems=problems)

    async def answer(self, call: Call, intake: Intake[Form], body: bytes) -> tuple[bytes, Imprint]:
        """Return the encoded answer to a body, and the imprint of the rule set it follows.

        Heavy work is done in another thread, so that other requests need not wait for it.
        Raises ProblemError.
        """
        form, told = await self.read(intake, body)
        rules = await self.rules(form.ruleset, form.as_of)
        imprint = self.imprint(rules)
        try:
            if not call.heavy(form):
                return answer(call, form, told, rules, imprint), imprint
            books = (await self.named_book(form, imprint),) if call.priced else ()

            def work() -> bytes:
                return answer(call, form, told, rules, imprint, *books)

            return await asyncio.to_thread(work), imprint
        except BadInputError as error:
            raise unusable(error, imprint) from None

    async def read(self, intake: Intake[F], body: bytes) -> tuple[F, bytes]:
        """Return the form and the canonical form of a body; a long one is read in another thread.

        Raises ProblemError.
        """
        if len(body) > _LONG_BODY_BYTES:
            return await asyncio.to_thread(self.form, intake, body)
        return self.form(intake, body)

    def form(self, intake: Intake[F], body: bytes) -> tuple[F, bytes]:
        """Return the form and the canonical form of a body. Raises ProblemError."""
        try:
            return intake.read(body)
        except MalformedBodyError as error:
            raise ProblemError("malformed-body", str(error)) from None
        except BadInputError as error:
            raise unusable(error) from None

    async def rules(self, name: str | None, as_of: date | None) -> RuleSet:
        """Return the rule set that a request calls for; a file is read in another thread.

        Raises ProblemError. One request asks one shelf, whatever is renewed meanwhile.
        """
        shelf = self.shelf
        try:
            record = shelf.record(
                self.settings.default_ruleset if name is None else name, as_of or self.today()
            )
            _check_in_force(record, as_of)
            held = shelf.held(record)
            return held if held is not None else await asyncio.to_thread(shelf.load, record)
        except NoSuchRulesetError as error:
            raise ProblemError("no-such-ruleset", str(error)) from None
        except WithdrawnError as error:
            raise ProblemError("withdrawn-ruleset", str(error)) from None
        except RuleFileError as error:
            raise ProblemError("broken-ruleset", str(error)) from None

    async def price_book(self, name: str | None, as_of: date | None) -> PriceBook:
        """Return the price book that a request calls for. Raises ProblemError."""
        return await self.prices.book(name, as_of or self.today())

    async def named_book(self, form: Any, under: Imprint) -> PriceBook | None:  # noqa: ANN401
        """Return the price book that a form names; None where it brings one along."""
        if form.prices is not None and not isinstance(form.prices, str):
            return None
        try:
            return await self.price_book(form.prices, form.as_of)
        except ProblemError as error:
            error.under = under
            raise

    async def version(self, identifier: str, version: str) -> RuleSet:
        """Return one version to look at, withdrawn or not. Raises ProblemError."""
        shelf = self.shelf
        record = shelf.ledger.get(identifier, {}).get(version)
        if record is None:
            shown = f"{identifier}@{version}"[:160]
            raise ProblemError("no-such-ruleset", f"There is no {shown}. See /v1/rulesets.")
        try:
            return await asyncio.to_thread(shelf.load, record)
        except RuleFileError as error:
            raise ProblemError("broken-ruleset", str(error)) from None

    def imprint(self, rules: RuleSet) -> Imprint:
        """Return the imprint of a rule set, made once for each and gone with it."""
        imprint = self._imprints.get(rules)
        if imprint is None:
            imprint = self._imprints[rules] = Imprint(rules)
        return imprint

    async def renew(self) -> None:
        """Take up what has changed in the folder; a fault leaves a shelf as it was."""
        await self.prices.renew()
        try:
            self.shelf = await asyncio.to_thread(self.shelf.renew)
        except RuleFileError as error:
            self.renewal_problems = error.problems
            log.error("rules not renewed", problems=[str(problem) for problem in error.problems])
        else:
            self.renewal_problems = ()
            log.info("rules renewed", rulesets=len(self.shelf.ledger))

    def fingerprint(self) -> tuple[Any, ...]:
        """Return what tells whether `renew` has anything to do: the ledgers, and the files."""
        rules, prices = self.shelf.fingerprint(), self.prices.shelf.fingerprint()
        return ((rules[0], prices[0]), rules[1:], prices[1:])

    def _default(self) -> RuleSet:
        return self.shelf.pick(self.settings.default_ruleset, self.today())


def _check_in_force(record: Record, as_of: date | None) -> None:
    """Raise NoSuchRulesetError where a version is asked for on a day before it comes into force."""
    if as_of is not None and as_of < record.effective:
        raise NoSuchRulesetError(
            f"{record.name} is not yet in force on {as_of}, but from {record.effective} on. Leave"
            " as_of out, or name the rule set without a version."
        )


def unusable(error: BadInputError, under: Imprint | None = None) -> ProblemError:
    """Return the refusal of a request with faults."""
    count = len(error.faults)
    detail = "One thing is wrong with it." if count == 1 else f"{count} things are wrong with it."
    if count >= MOST_FAULTS:
        detail = f"These are the first {count} things that are wrong with it."
    return ProblemError("unusable-request", detail, error.faults, under)
