"""Reckon a job: its strips, its bill to order, its hours, and its price."""

from __future__ import annotations

import msgspec

from service.calc.labour import Labour, Work, labour
from service.calc.layout.lay import LaidPlane
from service.calc.layout.trace import counted_follows
from service.calc.quote.job import Job
from service.calc.quote.order import JobBill, job_bill
from service.calc.quote.price import Price, price_of
from service.calc.quote.strips import Strip, strips_of
from service.pricebooks.pricebook import PriceBook
from service.rulesets.ruleset import RuleSet


class Reckoned(msgspec.Struct, frozen=True, kw_only=True):
    """What a job comes to. `labour` is None without rates in the rule set.

    `price` is None without a price book, and where no channel can be made for some array.
    """

    strips: tuple[Strip, ...]
    bill: JobBill
    labour: Labour | None
    price: Price | None


def reckon(job: Job, rules: RuleSet, book: PriceBook | None, mark_nm: int = 1) -> Reckoned:
    """Return the strips, bill, labour and price of a job.

    `mark_nm` is the finest mark of the tape by which channels are bent. Raises BadInputError for a
    crew or a day that makes no sense.
    """
    strips = strips_of(job, rules.values, mark_nm)
    billed = job_bill(job, strips, rules)
    fitted = all(strip.fitted for strip in strips)
    worked = labour(_work(job, billed), rules) if fitted else None
    minutes = worked.person_minutes if worked else None
    price = price_of(billed.orders, minutes, book) if book is not None and fitted else None
    return Reckoned(strips=strips, bill=billed, labour=worked, price=price)


def _loops(plane: LaidPlane) -> int:
    """Return round how many loops channel goes; open edges and changes of strip add none."""
    return len({run.placed.name.partition("/")[0] for run in plane.runs})


def _work(job: Job, billed: JobBill) -> Work:
    return Work(
        planes=job.planes,
        arrays=len(job.areas) + sum(_loops(area.plane) for area in job.laid),
        estimated=billed.estimated,
        counted=billed.counted,
        facts=job.facts,
        crew=job.crew,
        working_day=job.working_day,
        assumed=(*job.assumed, *(counted_follows(billed.laid) if billed.laid else ())),
    )
