"""How long a job takes: tasks by the rule set's rates, surcharges, and days of a crew.

All times are exact fractions of minutes. Nothing is rounded but the days, which go up to the next
half: a crew is not sent out for less. The rates are the company's to calibrate, and nothing here
is a price.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

import msgspec

from service.calc.conditions import told_to_hold
from service.calc.labour_trace import labour_trace
from service.calc.trace import Step
from service.calc.work import Added, WorkLine, WorkPart
from service.errors import BadInputError, Fault
from service.quantity.whole import whole
from service.rulesets.quoting import LEAST_CREW
from service.rulesets.ruleset import Conditions, Effort, RuleSet, Task


class Work(msgspec.Struct, frozen=True, kw_only=True):
    """What drives the work of a job: lengths [nm] and counts.

    `estimated` adds up the arrays that thumb rules count, `counted` those that are laid out; either
    may be empty. `assumed` names drivers, `crew` or `working_day` that were not told, each with the
    rule that they were taken from.
    """

    planes: int
    arrays: int
    estimated: Mapping[str, int]
    counted: Mapping[str, int]
    facts: Mapping[str, Any]
    crew: int
    working_day: Fraction
    """Minutes that one person works in a day."""
    assumed: tuple[tuple[str, str], ...] = ()


class Labour(msgspec.Struct, frozen=True, kw_only=True):
    """The work of a job, in minutes of one person and of the crew, and in days of the crew.

    `untold` names the facts that rates ask for and the job does not tell: what hangs on them is
    left out, so the figures hold for the facts that are told.
    """

    lines: tuple[WorkLine, ...]
    surcharges: tuple[Added, ...]
    person_minutes: Fraction
    crew: int
    crew_minutes: Fraction
    days: Fraction
    untold: tuple[str, ...]
    assumed: tuple[tuple[str, str], ...] = ()

    @property
    def trace(self) -> tuple[Step, ...]:
        """Return a step for each figure."""
        return labour_trace(self.lines, self.surcharges, self.assumed)


def labour(work: Work, rules: RuleSet) -> Labour | None:
    """Return how long a job takes; None where the rule set has no rates, which is not no time.

    Surcharges are each a share of the time of all tasks, and are added up: none is taken on top of
    another. Raises BadInputError for a crew of less than two, or a day without work.
    """
    _check(work)
    if not rules.work:
        return None
    lines = tuple(line for task in rules.work if (line := _line(task, work)).minutes)
    tasks = sum((line.minutes for line in lines), Fraction(0))
    added = tuple(
        Added(surcharge=one, minutes=tasks * one.share)
        for one in rules.surcharges
        if told_to_hold(one.when, work.facts)
    )
    person = tasks + sum((one.minutes for one in added), Fraction(0))
    crew = person / work.crew
    return Labour(
        lines=lines,
        surcharges=added,
        person_minutes=person,
        crew=work.crew,
        crew_minutes=crew,
        days=_days(crew, work.working_day),
        untold=_untold(rules, work.facts),
        assumed=work.assumed,
    )


def _check(work: Work) -> None:
    faults = []
    if work.crew < LEAST_CREW:
        problem = f"A crew of {work.crew} does not work on a roof."
        remedy = f"Write at least {LEAST_CREW}."
        faults.append(Fault(path=("crew",), problem=problem, remedy=remedy))
    if work.working_day <= 0:
        problem = "No work is done in such a day."
        faults.append(Fault(path=("working_day",), problem=problem, remedy="Write 8 h, say."))
    if faults:
        raise BadInputError(faults)


def _line(task: Task, work: Work) -> WorkLine:
    """Return what a task takes; nothing where its conditions are not met."""
    if not told_to_hold(task.when, work.facts):
        return WorkLine(task=task, minutes=Fraction(0), parts=())
    whole_job = {"job": 1, "planes": work.planes, "arrays": work.arrays}
    parts = (
        *_parts(task.job, whole_job, work.facts),
        *_parts(task.estimated, work.estimated, work.facts),
        *_parts(task.counted, work.counted, work.facts),
    )
    return WorkLine(task=task, minutes=sum((p.minutes for p in parts), Fraction(0)), parts=parts)


def _parts(
    efforts: tuple[Effort, ...], drivers: Mapping[str, int], facts: Mapping[str, Any]
) -> Iterator[WorkPart]:
    """Yield what each reason takes: in proportion to its driver, a part of `one_per` as a part."""
    for effort in efforts:
        amount = drivers.get(effort.driver, 0)
        if amount and told_to_hold(effort.when, facts):
            yield WorkPart(
                need=effort.id,
                driver=effort.driver,
                amount=amount,
                minutes=Fraction(
                    effort.minutes.numerator * amount,
                    effort.minutes.denominator * effort.one_per,
                ),
                rule=effort.rule,
            )


def _days(crew_minutes: Fraction, working_day: Fraction) -> Fraction:
    """Return days of the crew, rounded up to half ones."""
    halves = 2 * crew_minutes / working_day
    return Fraction(whole(halves.numerator, halves.denominator), 2)


def _untold(rules: RuleSet, facts: Mapping[str, Any]) -> tuple[str, ...]:
    asked = (name for when in _conditions(rules) for name, _ in when)
    return tuple(sorted({name for name in asked if name not in facts}))


def _conditions(rules: RuleSet) -> Iterator[Conditions]:
    for task in rules.work:
        yield task.when
        for effort in (*task.job, *task.estimated, *task.counted):
            yield effort.when
    for surcharge in rules.surcharges:
        yield surcharge.when
