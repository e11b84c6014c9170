"""Quote a whole job: suitability, figures, assumptions and alternatives."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any, Literal

import msgspec

from gapwright.calc.bill import roll_lengths_nm
from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.quote.compute import JobFigures, compute_job
from gapwright.calc.quote.job import Job
from gapwright.calc.quote.price import Price
from gapwright.calc.suitability import Suitability, judge_site
from gapwright.calls.quote_job import (
    AssumedValue,
    Assumptions,
    Choices,
    DrawnPlanes,
    assumed_clearance,
    choices_of,
    draw,
    job_of,
)
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.request import Path, readings_nm, refuse, roll_faults, within
from gapwright.errors import Fault, InvalidRequestError
from gapwright.pricebooks.build import inline
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.pricebooks.schema import SentBook
from gapwright.quantity.whole import whole
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import Assumption, RuleSet

_MOST_TRIED = 12
"""How many counts of a range are tried. In a wider range they are spread evenly."""
_UNPRICED = ("crew", "working_day")
"""Assumptions that change the days on site but not the person-hours."""
_VERDICTS = {
    "survey": "The verdict calls for a survey, which can change the job.",
    "conditional": "The verdict has conditions; meeting them can change the job.",
}

Changed = Literal["joining", "finish", "bending", "wider", "roll_nm"]


class AssumptionRange(msgspec.Struct, frozen=True, kw_only=True):
    """An assumption of a quote, and the figures of the job over its range.

    `others` has both ends of the range, and for a count values between them: a count inside the
    range can give the lowest price. It is empty if the price does not depend on the assumption,
    and contains None where the job would be unsuitable.
    """

    assumption: Assumption
    places: tuple[Path, ...]
    others: Figure[tuple[JobFigures | None, ...]]


class Alternative(msgspec.Struct, frozen=True, kw_only=True):
    """The same job with one choice changed, and its figures."""

    changed: Changed
    choices: Choices
    figures: JobFigures


class Quote(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of a quote; an unsuitable job has a verdict only."""

    suitability: Suitability
    facts: dict[str, Any]
    job: Job | None = None
    figures: JobFigures | None = None
    ranged: tuple[AssumptionRange, ...] = ()
    alternatives: tuple[Figure[Alternative | None], ...] = ()


def quote(request: QuoteRequest, rules: RuleSet, named: PriceBook | None) -> Quote:
    """Return the quote of a job; `named` is the price book that the request names, if any.

    Raises InvalidRequestError with every fault of the request.
    """
    book, faults = _book(request, named)
    faults += roll_faults(request.roll_length, request.units or rules.units, rules)
    drawn = draw(request, rules, faults)
    assumed = Assumptions(rules)
    job = job_of(request, drawn, choices_of(request), assumed)
    faults += assumed.faults
    refuse(faults)
    found = _judged(request, drawn, assumed_clearance(request, assumed), rules)
    facts = {**found.facts, **job.facts}
    if found.verdict == "unsuitable":
        return Quote(suitability=found, facts=facts)
    if found.price_withheld:
        book = None
    context = _Context(request=request, drawn=drawn, rules=rules, book=book)
    figures = compute_job(job, rules, book)
    return Quote(
        suitability=found,
        job=job,
        figures=figures,
        ranged=tuple(_ranged(context, assumed)),
        alternatives=tuple(_alternatives(context, figures)) if request.alternatives else (),
        facts=facts,
    )


class _Context(msgspec.Struct, frozen=True, kw_only=True):
    """What all variants of a job have in common."""

    request: QuoteRequest
    drawn: DrawnPlanes | None
    rules: RuleSet
    book: PriceBook | None

    def chosen(self, choices: Choices) -> JobFigures:
        """Return the job with other choices."""
        job = job_of(self.request, self.drawn, choices, Assumptions(self.rules))
        return compute_job(job, self.rules, self.book)

    def assuming(self, name: str, value: AssumedValue) -> JobFigures | None:
        """Return the job under another assumption; None where it is unsuitable."""
        assumed = Assumptions(self.rules, {name: value})
        drawn = self.drawn
        if drawn is not None and name.startswith("clearance_"):
            drawn = drawn.guessing(int(value), self.rules)
        job = job_of(self.request, drawn, choices_of(self.request), assumed)
        if name.startswith("clearance_"):
            clearance = assumed_clearance(self.request, assumed)
            if _judged(self.request, drawn, clearance, self.rules).verdict == "unsuitable":
                return None
        return compute_job(job, self.rules, self.book)


def _book(request: QuoteRequest, named: PriceBook | None) -> tuple[PriceBook | None, list[Fault]]:
    """Return the price book of a request, and the faults of one that was sent along."""
    if not isinstance(request.prices, SentBook):
        return named, []
    try:
        return inline(msgspec.to_builtins(request.prices)), []
    except InvalidRequestError as error:
        return None, [within(fault, ("prices",)) for fault in error.faults]


def _judged(
    request: QuoteRequest, drawn: DrawnPlanes | None, assumed_nm: Figure[int] | None, rules: RuleSet
) -> Suitability:
    """Return the verdict on all arrays by all readings, and by what had to be assumed."""
    given = [request.clearance]
    for plane in request.planes:
        given += [plane.clearance, *(area.clearance for area in plane.arrays)]
    arrays = dict.fromkeys(readings_nm(one) for one in given if one is not None)
    if drawn is not None:
        arrays.update(dict.fromkeys(drawn.readings()))
    return judge_site(
        request.roof_covering, request.racking, tuple(arrays), request.site, rules, assumed_nm
    )


def _ranged(context: _Context, assumed: Assumptions) -> Iterator[AssumptionRange]:
    """Yield each assumption with the job over its range."""
    for name, assumption in assumed.used.items():
        yield AssumptionRange(
            assumption=assumption,
            places=tuple(assumed.places[name]),
            others=context.rules.figure(partial(_over_range, context, name, assumption)),
        )


def _over_range(
    context: _Context, name: str, assumption: Assumption
) -> tuple[JobFigures | None, ...]:
    tried = () if name in _UNPRICED else _tried(assumption)
    return tuple(context.assuming(name, value) for value in tried)


def _tried(assumption: Assumption) -> tuple[AssumedValue, ...]:
    """Return the values of a range that are tried: its ends, and counts between them."""
    least, most = assumption.least, assumption.most
    if assumption.kind != "count":
        return (least, most)
    step = max(1, whole(int(most - least), _MOST_TRIED - 1))
    counts = (*range(int(least), int(most), step), int(most))
    return tuple(count for count in counts if count != assumption.value)


def _alternatives(context: _Context, asked_for: JobFigures) -> Iterator[Figure[Alternative | None]]:
    """Yield the other choices for a job, None where they cannot be made or change nothing."""
    asked = choices_of(context.request)
    sold = roll_lengths_nm(context.rules)
    lengths = [length for length in sold if length != (asked.roll_nm or sold[0])]
    changes: list[tuple[Changed, Any]] = [
        ("joining", "ties" if asked.joining == "rings" else "rings"),
        ("finish", "spray" if asked.finish == "prepainted" else "prepainted"),
        ("bending", "brake" if asked.bending == "hand" else "hand"),
        ("wider", 1),
    ]
    changes += [("roll_nm", length) for length in lengths]
    for changed, value in changes:
        choices = msgspec.structs.replace(asked, **{changed: value})
        yield context.rules.figure(partial(_alternative, context, changed, choices, asked_for))


def _alternative(
    context: _Context, changed: Changed, choices: Choices, asked_for: JobFigures
) -> Alternative | None:
    """Return a choice with its figures; a wider strip only if it is snug in every array."""
    figures = context.chosen(choices)
    sizings = [strip.sizing for strip in figures.strips.value]
    made = (one.snug.value if changed == "wider" else one.fitted.value for one in sizings)
    if not all(made) or _takes(figures) == _takes(asked_for):
        return None
    return Alternative(changed=changed, choices=choices, figures=figures)


def _takes(figures: JobFigures) -> tuple[object, ...]:
    """Return what a job needs: materials, tools and labor."""
    billed, worked = figures.bill, figures.labor
    return (
        [(row.use.value, row.order.value) for row in billed.rows.value],
        billed.tools.value,
        [task.value for task in worked.tasks] if worked else None,
    )


def open_items(found: Quote) -> tuple[str, ...]:
    """Return why the price of a quote is not firm: what is open and could change it.

    Unknown site facts are not included: an active nest changes the verdict, and is listed there.
    """
    if found.figures is None or found.figures.price is None:
        return ()
    return tuple(_open_items(found, found.figures, found.figures.price))


def _open_items(found: Quote, figures: JobFigures, price: Price) -> Iterator[str]:
    if found.suitability.verdict in _VERDICTS:
        yield _VERDICTS[found.suitability.verdict]
    if price.to_be_priced.value:
        yield f"To be priced: {', '.join(price.to_be_priced.value)}."
    if found.suitability.attachment.value["attachment"] == "undecided":
        yield "To be priced: fasteners, once it is decided what the channel is attached to."
    laid = found.job.laid if found.job else ()
    if unfixed := ", ".join(plane.plane.name for plane in laid if _unfixed(plane)):
        yield f"No rails are known, so fasteners are counted by rule of thumb: {unfixed}."
    moving = [one.assumption.name for one in found.ranged if _moves(one, price)]
    if moving:
        yield f"Assumed, and the total depends on it: {', '.join(moving)}."
    if figures.labor and figures.labor.missing:
        yield f"Not given, so no labor is included for it: {', '.join(figures.labor.missing)}."
    unknown = [name for plane in laid for name in _unknown(plane)]
    if unknown:
        yield f"Settings for sides that do not exist: {', '.join(unknown)}."
    strips = figures.strips.value
    loose = [name for one in strips if not one.sizing.snug.value for name in one.names]
    if loose:
        names = ", ".join(loose)
        yield f"The channel is not snug; following the advice would change the strip: {names}."


def _unfixed(laid: LaidPlane) -> bool:
    """Return whether a plane has runs on rails that no known rail crosses or reaches."""
    return laid.plane.attachment.value == "rails" and not all(run.fixed for run in laid.runs)


def _unknown(laid: LaidPlane) -> Iterator[str]:
    """Yield the sides that have settings in the request but are not on the drawn plane."""
    known = {side.name for side in laid.sides}
    yield from (f"{laid.plane.name} {name}" for name in laid.plane.sides if name not in known)


def _moves(ranged: AssumptionRange, price: Price) -> bool:
    """Return whether something in the range of an assumption leads to another total."""
    others = ranged.others.value
    totals = {one.price.total.value if one and one.price else None for one in others}
    return bool(totals - {price.total.value})
