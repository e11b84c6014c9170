"""Compute a job: its strips, its bill to order, its hours, and its price."""

from __future__ import annotations

import msgspec

from gapwright.calc.labor import Labor, Work, estimate_labor
from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.quote.job import Job, JobStrip, job_strips
from gapwright.calc.quote.order import JobBill, job_bill
from gapwright.calc.quote.price import Price, price_of
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet


class JobFigures(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of a job. `labor` is None without rates in the rule set.

    `fitted` says whether a channel can be made for every array; where it is false, there is no
    labor and no price. `price` is also None without a price book.
    """

    strips: Figure[tuple[JobStrip, ...]]
    bill: JobBill
    fitted: Figure[bool]
    labor: Labor | None
    price: Price | None


def compute_job(job: Job, rules: RuleSet, book: PriceBook | None) -> JobFigures:
    """Return the strips, bill, labor and price of a job."""
    strips = rules.figure(lambda: job_strips(job, rules))
    billed = job_bill(job, strips, rules)
    fitted = rules.figure(lambda: all(strip.sizing.fitted.value for strip in strips.value))
    labor = price = None
    if fitted.value:
        labor = estimate_labor(_work(job, billed, rules), rules)
        minutes = labor.person_minutes if labor else None
        price = price_of(billed.rows, minutes, book, rules) if book is not None else None
    return JobFigures(strips=strips, bill=billed, fitted=fitted, labor=labor, price=price)


def _work(job: Job, billed: JobBill, rules: RuleSet) -> Work:
    return Work(
        planes=job.planes,
        arrays=rules.figure(lambda: len(job.areas) + sum(map(_loops, job.laid))),
        estimated=billed.estimated,
        counted=billed.counted,
        facts=job.facts,
        crew=job.crew,
        working_day=job.working_day,
    )


def _loops(plane: LaidPlane) -> int:
    """Return how many loops channel goes around; open sides and changes of strip add none."""
    depend_on(plane.steps.outline)  # the count of loops follows from the outline
    return len({run.placed.sides[0].loop for run in plane.runs})
