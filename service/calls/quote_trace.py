"""The trace of a quote: its parts' steps, and those of what it assumes and what else it offers."""

from __future__ import annotations

from collections.abc import Iterator

from service.calc.layout.trace import layout_trace
from service.calc.quote import Job, Reckoned
from service.calc.quote.strips import drawn_strips
from service.calc.quote.trace import STRIP, followed, reckoned_trace, unique
from service.calc.trace import Step
from service.calls.quoting import Quoted
from service.rulesets.ruleset import RuleSet

_OUTLINE = ("perimeter", "corners")


def quote_trace(found: Quoted, rules: RuleSet) -> tuple[Step, ...]:
    """Return a step for each figure of a quote that a rule has a say in."""
    judged = [Step(f"/suitability{s.figure}", s.cites) for s in found.suitability.trace]
    return (*judged, *_reckoned(found, rules))


def _reckoned(found: Quoted, rules: RuleSet) -> Iterator[Step]:
    job, reckoned = found.job, found.reckoned
    if job is None or reckoned is None:
        return
    steps = reckoned_trace(reckoned, rules)
    yield from _told(job, reckoned, steps, rules)
    yield from steps
    whole = unique(rule for step in steps for rule in step.cites)
    ranges: list[str] = []
    for at, one in enumerate(found.ranged):
        others = (rule for other in one.others if other for rule in followed(other, rules))
        cites = unique((one.assumption.rule, *whole, *others))
        ranges += cites
        yield Step(f"/assumptions/{at}", cites)
    for at, other in enumerate(found.alternatives):
        yield Step(f"/alternatives/{at}", unique((*whole, *followed(other.reckoned, rules))))
    if reckoned.price:
        verdict = next(s.cites for s in found.suitability.trace if s.figure == "/verdict")
        yield Step("/price/firm", unique((*verdict, *whole, *ranges)))
        yield Step("/price/not_firm", unique((*verdict, *whole, *ranges)))


def _told(job: Job, reckoned: Reckoned, steps: tuple[Step, ...], rules: RuleSet) -> Iterator[Step]:
    """Yield the steps of what the job is: the arrays as they are estimated, or laid out."""
    strip = next(step.cites for step in steps if step.figure == "/bill")
    days = tuple(rule for driver, rule in job.assumed if driver == "working_day")
    if days and any(step.figure == "/schedule" for step in steps):
        yield Step("/schedule/working_day", days)
    if job.areas:
        assumed = unique(rule for driver, rule in job.assumed if driver in _OUTLINE)
        if assumed:
            yield Step("/estimate", assumed)
        guesses = {name: s.guess for s in reckoned.strips for name in s.names if s.guess}
        for at, area in enumerate(job.areas):
            guess = guesses.get(area.name)
            yield Step(f"/estimate/arrays/{at}", (*STRIP, *((guess,) if guess else ())))
    if reckoned.bill.laid:
        guessed = tuple(strip.guess for strip in reckoned.strips if strip.guess)
        yield Step("/layout", strip)
        for step in layout_trace(reckoned.bill.laid, drawn_strips(job, reckoned.strips), rules):
            yield Step(f"/layout{step.figure}", unique((*step.cites, *guessed)))
