"""Quote a whole job: judge it, reckon it, and say what was assumed and what else could be done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

import msgspec

from service.calc.layout.lay import LaidPlane
from service.calc.quote import Job, Reckoned, reckon
from service.calc.quote.order import roll_lengths_nm
from service.calc.suitability import Suitability, judge_site
from service.calls.array_forms import ArraysForm, PlaneForm
from service.calls.assuming import Amount, Assumed
from service.calls.job_facts import Choices, choices_of, job_of
from service.calls.laying import lay
from service.calls.quote_forms import QuoteForm, QuotePlaneForm
from service.calls.roll_lengths import roll_faults
from service.errors import BadInputError, Fault
from service.pricebooks.build import inline
from service.pricebooks.pricebook import PriceBook
from service.pricebooks.schema import SentBook
from service.quantity.show import MARKS_NM
from service.rulesets.ruleset import Assumption, RuleSet


class Ranged(msgspec.Struct, frozen=True, kw_only=True):
    """An assumption that a quote rests on, and what the job comes to at both ends of its range."""

    assumption: Assumption
    places: tuple[tuple[str | int, ...], ...]
    at_least: Reckoned
    at_most: Reckoned


Changed = Literal["joining", "painted", "bending", "wider", "roll_nm"]


class Alternative(msgspec.Struct, frozen=True, kw_only=True):
    """Another way of doing the same job, and what it then comes to."""

    changed: Changed
    choices: Choices
    reckoned: Reckoned


class Quoted(msgspec.Struct, frozen=True, kw_only=True):
    """A quote before it is written in the caller's units; an unsuitable job has a verdict only."""

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
    laid = _laid(form, rules, faults)
    assumed = Assumed(rules)
    job = job_of(form, laid, choices_of(form), assumed)
    faults += assumed.faults
    if faults:
        raise BadInputError(faults)
    found = _judged(form, assumed, rules)
    facts = {**found.facts, **job.facts}
    if found.verdict == "unsuitable":
        return Quoted(
            suitability=found, job=None, reckoned=None, ranged=(), alternatives=(), facts=facts
        )
    mark = MARKS_NM[form.units or rules.units]
    context = _Context(form=form, laid=laid, rules=rules, book=book, mark_nm=mark)
    return Quoted(
        suitability=found,
        job=job,
        reckoned=reckon(job, rules, book, mark),
        ranged=tuple(_ranged(context, assumed)),
        alternatives=tuple(_alternatives(context)) if form.alternatives else (),
        facts=facts,
    )


class _Context(msgspec.Struct, frozen=True, kw_only=True):
    """What all the ways of reckoning a job have in common."""

    form: QuoteForm
    laid: Mapping[int, LaidPlane]
    rules: RuleSet
    book: PriceBook | None
    mark_nm: int

    def reckoned(self, choices: Choices, instead: Mapping[str, Amount]) -> Reckoned:
        """Return what the job comes to when it is done so, and something else is assumed."""
        job = job_of(self.form, self.laid, choices, Assumed(self.rules, instead))
        return reckon(job, self.rules, self.book, self.mark_nm)


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


def _laid(form: QuoteForm, rules: RuleSet, faults: list[Fault]) -> dict[int, LaidPlane]:
    """Return the planes that are drawn, laid out, by their position; faults are added."""
    drawn = [at for at, plane in enumerate(form.planes) if plane.array is not None]
    if not drawn:
        return {}
    planes = tuple(_plane(form.planes[at], at) for at in drawn)
    roll = form.roll_length
    try:
        laid = lay(ArraysForm(planes=planes), (), int(roll) if roll is not None else None, rules)
    except BadInputError as error:
        faults += [_placed(fault, drawn) for fault in error.faults]
        return {}
    return dict(zip(drawn, laid.planes, strict=True))


def _placed(fault: Fault, drawn: list[int]) -> Fault:
    """Return a fault of the drawn planes with the position that its plane has in the request."""
    steps = fault.path
    if steps[:1] == ("planes",) and len(steps) > 1:
        steps = ("planes", drawn[int(steps[1])], *steps[2:])
    return Fault(path=steps, problem=fault.problem, remedy=fault.remedy)


def _plane(form: QuotePlaneForm, at: int) -> PlaneForm:
    assert form.array is not None
    return PlaneForm(
        array=form.array,
        name=form.name or f"plane {at + 1}",
        rails=form.rails,
        penetrations=form.penetrations,
        edges=form.edges,
        facings=form.facings,
    )


def _judged(form: QuoteForm, assumed: Assumed, rules: RuleSet) -> Suitability:
    """Return the verdict on all arrays together: every reading that was told counts."""
    told = [form.clearance] if form.clearance else []
    for plane in form.planes:
        areas = [area.clearance for area in plane.arrays]
        told += [one for one in (plane.clearance, *areas) if one is not None]
    readings = tuple(int(reading) for one in told for reading in one.readings)
    usual = assumed.used.get(f"clearance_{form.racking}")
    guess = int(usual.value) if usual is not None else None
    return judge_site(form.covering, form.racking, readings, form.site, rules, guess)


def _ranged(context: _Context, assumed: Assumed) -> Iterator[Ranged]:
    """Yield each assumption with what the job comes to at both ends of its range."""
    choices = choices_of(context.form)
    for name, assumption in assumed.used.items():
        yield Ranged(
            assumption=assumption,
            places=tuple(assumed.places[name]),
            at_least=context.reckoned(choices, {name: assumption.least}),
            at_most=context.reckoned(choices, {name: assumption.most}),
        )


def _alternatives(context: _Context) -> Iterator[Alternative]:
    """Yield the other ways of doing a job that leave its verdict alone."""
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
        reckoned = context.reckoned(choices, {})
        if all(s.width_nm is not None and s.sizing.channel is not None for s in reckoned.strips):
            yield Alternative(changed=changed, choices=choices, reckoned=reckoned)
