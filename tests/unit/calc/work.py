"""Tasks, surcharges and jobs that the tests of labour share."""

from __future__ import annotations

from fractions import Fraction

import msgspec

from service.calc.labour import Work, labour
from service.rulesets.figures import Figure
from service.rulesets.ruleset import Effort, Surcharge, Task
from tests.unit.make import baseline


def effort(driver, minutes, one_per=1, when=(), rule="work.t.part.e"):
    return Effort(
        id="e", driver=driver, minutes=Fraction(minutes), one_per=one_per, when=when, rule=rule
    )


def task(name="t", job=(), estimated=(), counted=(), when=()):
    return Task(
        id=name,
        means="m",
        job=job,
        estimated=estimated,
        counted=counted or estimated,
        when=when,
        rule=f"work.{name}",
    )


def surcharge(name, share, **facts):
    when = tuple((fact, frozenset({answer})) for fact, answer in facts.items())
    rule = f"surcharges.{name}"
    return Surcharge(id=name, means="m", share=Fraction(share), when=when, rule=rule)


def rules(*tasks, surcharges=()):
    return msgspec.structs.replace(baseline(), work=tasks, surcharges=tuple(surcharges))


def work(
    estimated=None,
    counted=None,
    *,
    planes=1,
    arrays=1,
    facts=None,
    crew=2,
    working_day=Fraction(480),
):
    return Work(
        planes=planes,
        arrays=Figure(arrays),
        estimated={name: Figure(count) for name, count in (estimated or {}).items()},
        counted={name: Figure(count) for name, count in (counted or {}).items()},
        facts=facts or {},
        crew=Figure(crew),
        working_day=Figure(working_day),
    )


def minutes(job, ruled):
    """Return the time of one person that a job takes [min]."""
    return labour(job, ruled).person_minutes.value
