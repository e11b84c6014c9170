"""Quote a whole job: judge it, reckon it, and say what was assumed and what else could be done."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

import msgspec

from service.calc.quote import Job, Reckoned, reckon
from service.calc.quote.order import roll_lengths_nm
from service.calc.suitability import Suitability, judge_site
from service.calls.assuming import Amount, Assumed
from service.calls.drawn import Drawn, draw
from service.calls.job_facts import Choices, assumed_clearance, choices_of, job_of
from service.calls.quote_forms import QuoteForm
from service.calls.roll_lengths import roll_faults
from service.errors import BadInputError, Fault
from service.pricebooks.build import inline
from service.pricebooks.pricebook import PriceBook
from service.pricebooks.schema import SentBook
from service.quantity.whole import whole
from service.rulesets.figures import Figure
from service.rulesets.ruleset import Assumption, RuleSet

_MOST_TRIED = 12
"""How many counts of a range are tried; of a wider one, so many spread over it."""

_UNPRICED = ("crew", "working_day")
"""What changes how long a job takes, but not the hours that are paid for."""


Others = tuple[Reckoned | None, ...]


class Ranged(msgspec.Struct, frozen=True, kw_only=True):
    """An assumption that a quote rests on, and what the job comes to over its range.

    `others` has both ends of the range, and for a count what lies between them: a count that is
    neither the least nor the greatest can give the lowest price. It is empty where the price does
    not hang on the assumption, and holds None where the job would be unsuitable.
    """

    assumption: Assumption
    places: tuple[tuple[str | int, ...], ...]
    others: Figure[Others]


Changed = Literal["joining", "painted", "bending", "wider", "roll_nm"]


class Alternative(msgspec.Struct, frozen=True, kw_only=True):
    """Another way of doing the same job, and what it then comes to."""

    changed: Changed
    choices: Choices
    reckoned: Reckoned


class Quoted(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of a quote; an unsuitable job has a verdict only."""

    suitability: Suitability
    job: Job | None
    reckoned: Reckoned | None
    ranged: tuple[Ranged, ...]
    alternatives: tuple[Alternative, ...]
    facts: dict[str, Any]


def quote(form: QuoteForm, rules: RuleSet, named: PriceBook | None) -> Quoted:
    """Return the quote of a job; `named` is the price book that the request names, if any.

    Raises BadInputError with every fault of the request.
    """
    book, faults = _book(form, named)
    faults += roll_faults(form.roll_length, form, rules)
    drawn = draw(form, rules, faults)
    assumed = Assumed(rules)
    job = job_of(form, drawn, choices_of(form), assumed)
    faults += assumed.faults
    if faults:
        raise BadInputError(faults)
    found = _judged(form, drawn, assumed_clearance(form, assumed), rules)
    facts = {**found.facts, **job.facts}
    if found.verdict == "unsuitable":
        return Quoted(
            suitability=found, job=None, reckoned=None, ranged=(), alternatives=(), facts=facts
        )
    context = _Context(form=form, drawn=drawn, rules=rules, book=book)
    reckoned = reckon(job, rules, book)
    return Quoted(
        suitability=found,
        job=job,
        reckoned=reckoned,
        ranged=tuple(_ranged(context, assumed)),
        alternatives=tuple(_alternatives(context, reckoned)) if form.alternatives else (),
        facts=facts,
    )


class _Context(msgspec.Struct, frozen=True, kw_only=True):
    """What all variants of a job have in common."""

    form: QuoteForm
    drawn: Drawn | None
    rules: RuleSet
    book: PriceBook | None

    def chosen(self, choices: Choices) -> Reckoned:
        """Return the job when it is done in another way."""
        job = job_of(self.form, self.drawn, choices, Assumed(self.rules))
        return reckon(job, self.rules, self.book)

    def assuming(self, name: str, value: Amount) -> Reckoned | None:
        """Return the job under another assumption; None where it is unsuitable."""
        assumed = Assumed(self.rules, {name: value})
        drawn = self.drawn
        if drawn is not None and name.startswith("clearance_"):
            drawn = drawn.guessing(int(value), self.rules)
        job = job_of(self.form, drawn, choices_of(self.form), assumed)
        if name.startswith("clearance_"):
            clearance = assumed_clearance(self.form, assumed)
            if _judged(self.form, drawn, clearance, self.rules).verdict == "unsuitable":
                return None
        return reckon(job, self.rules, self.book)


def _book(form: QuoteForm, named: PriceBook | None) -> tuple[PriceBook | None, list[Fault]]:
    """Return the price book of a request, and the faults of one that was sent along."""
    if not isinstance(form.prices, SentBook):
        return named, []
    try:
        return inline(msgspec.to_builtins(form.prices)), []
    except BadInputError as error:
        return None, [_under(("prices",), fault) for fault in error.faults]


def _under(path: tuple[str | int, ...], fault: Fault) -> Fault:
    return Fault(path=(*path, *fault.path), problem=fault.problem, remedy=fault.remedy)


def _judged(
    form: QuoteForm, drawn: Drawn | None, assumed_nm: Figure[int] | None, rules: RuleSet
) -> Suitability:
    """Return the verdict on all arrays by all readings, and by what had to be assumed."""
    told = [form.clearance] if form.clearance else []
    for plane in form.planes:
        areas = [area.clearance for area in plane.arrays]
        told += [one for one in (plane.clearance, *areas) if one is not None]
    arrays = dict.fromkeys(tuple(int(reading) for reading in one.readings) for one in told)
    if drawn is not None:
        arrays.update(dict.fromkeys(drawn.readings()))
    return judge_site(form.covering, form.racking, tuple(arrays), form.site, rules, assumed_nm)


def _ranged(context: _Context, assumed: Assumed) -> Iterator[Ranged]:
    """Yield each assumption with the job over its range."""
    rules = context.rules
    for name, assumption in assumed.used.items():

        def others(name: str = name, assumption: Assumption = assumption) -> Others:
            tried = () if name in _UNPRICED else _tried(assumption)
            return tuple(context.assuming(name, value) for value in tried)

        yield Ranged(
            assumption=assumption,
            places=tuple(assumed.places[name]),
            others=rules.figure(others),
        )


def _tried(assumption: Assumption) -> tuple[Amount, ...]:
    """Return the values of a range that are tried: its ends, and counts between them."""
    least, most = assumption.least, assumption.most
    if assumption.kind != "count":
        return (least, most)
    step = max(1, whole(int(most - least), _MOST_TRIED - 1))
    counts = (*range(int(least), int(most), step), int(most))
    return tuple(count for count in counts if count != assumption.value)


def _alternatives(context: _Context, asked_for: Reckoned) -> Iterator[Alternative]:
    """Yield the other ways of doing a job that leave its verdict alone and change something.

    A wider strip is offered only where its channel is snug in every array.
    """
    asked = choices_of(context.form)
    sold = roll_lengths_nm(context.rules)
    lengths = [length for length in sold if length != (asked.roll_nm or sold[0])]
    changes: list[tuple[Changed, Any]] = [
        ("joining", "ties" if asked.joining == "rings" else "rings"),
        ("painted", "spray" if asked.painted == "prepainted" else "prepainted"),
        ("bending", "brake" if asked.bending == "hand" else "hand"),
        ("wider", 1),
    ]
    changes += [("roll_nm", length) for length in lengths]
    for changed, value in changes:
        choices = msgspec.structs.replace(asked, **{changed: value})
        reckoned = context.chosen(choices)
        sizings = [strip.sizing for strip in reckoned.strips]
        made = (one.snug.value if changed == "wider" else one.fitted.value for one in sizings)
        if all(made) and _differs(reckoned, asked_for):
            yield Alternative(changed=changed, choices=choices, reckoned=reckoned)


def _differs(one: Reckoned, other: Reckoned) -> bool:
    """Return whether two ways of doing a job differ in what they take."""
    return _takes(one) != _takes(other)


def _takes(reckoned: Reckoned) -> tuple[object, ...]:
    billed, worked = reckoned.bill, reckoned.labour
    return (
        [order.value for order in billed.orders],
        [use.value for use in billed.uses],
        billed.tools,
        [task.value for task in worked.tasks] if worked else None,
    )
