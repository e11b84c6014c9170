"""How long a job takes: tasks by the rule set's rates, labor factors, and days of a crew.

All times are exact fractions of minutes. Nothing is rounded but the days, which go up to the next
half: a crew is not sent out for less. The rates are the company's to calibrate, and nothing here
is a price.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import partial
from typing import Any

import msgspec

from gapwright.calc.bill import Drivers
from gapwright.calc.conditions import certainly_holds
from gapwright.quantity.output import Duration
from gapwright.quantity.show import decimal
from gapwright.quantity.whole import whole
from gapwright.rulesets.figures import Figure, present
from gapwright.rulesets.ruleset import Conditions, Effort, LaborFactor, RuleSet, Task


class TaskResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The time of one person that a task takes."""

    task: str
    """The id of the task in the rule set."""
    description: str
    """What the task is."""
    time: Duration
    """The time that one person takes."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""


class LaborFactorResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The time of one person that circumstances add, as a share [percent] of all tasks."""

    labor_factor: str
    """The id of the labor factor in the rule set."""
    description: str
    """What the factor is for."""
    share: float
    """The addition, in percent of all tasks."""
    time: Duration
    """The time of one person that it adds."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""


class LaborResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The labor, by rates that each company should calibrate.

    `missing` names facts that labor rates depend on and that the request does not give: the labor
    for them is not included.
    """

    tasks: tuple[TaskResult, ...]
    """The tasks of the job."""
    labor_factors: tuple[LaborFactorResult, ...]
    """The additions to the time of the tasks."""
    person_hours: Duration
    """The time of one person for the whole job."""
    crew_hours: Duration
    """The time of the whole crew on site."""
    crew: int
    """Number of people."""
    days: float
    """Working days on site, in half days."""
    missing: tuple[str, ...]
    """The names of request members that labor rates depend on and that were left out."""


class Work(msgspec.Struct, frozen=True, kw_only=True):
    """What drives the work of a job: lengths [nm] and counts.

    `estimated` sums the estimated arrays, `counted` those that are laid out; either
    may be empty. `working_day` is the minutes that one person works in a day.
    """

    planes: int
    arrays: Figure[int]
    estimated: Drivers
    counted: Drivers
    facts: Mapping[str, Any]
    crew: Figure[int]
    working_day: Figure[Fraction]


class Labor(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of the work of a job; tasks and labor factors that add no time are None."""

    tasks: tuple[Figure[TaskResult | None], ...]
    labor_factors: tuple[Figure[LaborFactorResult | None], ...]
    person_minutes: Figure[Fraction]
    crew: Figure[int]
    crew_minutes: Figure[Fraction]
    days: Figure[float]
    missing: tuple[str, ...]

    def result(self, rules: RuleSet) -> LaborResult:
        """Return the work for an answer."""
        return LaborResult(
            tasks=rules.show_each("/tasks", self.tasks),
            labor_factors=rules.show_each("/labor_factors", self.labor_factors),
            person_hours=Duration(rules.show("/person_hours", self.person_minutes)),
            crew_hours=Duration(rules.show("/crew_hours", self.crew_minutes)),
            crew=rules.show("/crew", self.crew),
            days=rules.show("/days", self.days),
            missing=self.missing,
        )


def estimate_labor(work: Work, rules: RuleSet) -> Labor | None:
    """Return how long a job takes; None where the rule set has no rates, which is not no time.

    Labor factors are each a share of the time of all tasks, and are added up: none is taken on
    top of another.
    """
    if not rules.work:
        return None
    tasks = tuple(rules.figure(partial(_task, task, work)) for task in rules.work)
    whole_time = rules.figure(lambda: _sum(tasks))
    added = tuple(
        rules.figure(partial(_labor_factor, one, whole_time, work.facts))
        for one in rules.labor_factors
    )
    person = rules.figure(lambda: whole_time.value + _sum(added))
    time = rules.figure(lambda: person.value / work.crew.value)
    return Labor(
        tasks=tasks,
        labor_factors=added,
        person_minutes=person,
        crew=work.crew,
        crew_minutes=time,
        days=rules.figure(lambda: _days(time.value, work.working_day.value)),
        missing=_missing(rules, work.facts),
    )


def _sum(parts: Any) -> Fraction:  # noqa: ANN401 - figures of tasks or labor factors
    return sum((part.time.amount for part in present(parts)), Fraction(0))


def _task(task: Task, work: Work) -> TaskResult | None:
    if not certainly_holds(task.when, work.facts):
        return None
    job: Drivers = {"job": Figure(1), "planes": Figure(work.planes), "arrays": work.arrays}
    minutes = (
        _minutes(task.job, job, work.facts)
        + _minutes(task.estimated, work.estimated, work.facts)
        + _minutes(task.counted, work.counted, work.facts)
    )
    if not minutes:
        return None
    return TaskResult(
        task=task.id, description=task.description, time=Duration(minutes), rule=task.rule
    )


def _minutes(efforts: tuple[Effort, ...], drivers: Drivers, facts: Mapping[str, Any]) -> Fraction:
    """Return what some reasons for work take, each in proportion to its driver."""
    total = Fraction(0)
    for effort in efforts:
        amount = drivers[effort.driver].value if effort.driver in drivers else 0
        if amount and certainly_holds(effort.when, facts):
            total += effort.minutes * amount / effort.one_per
    return total


def _labor_factor(
    one: LaborFactor, tasks: Figure[Fraction], facts: Mapping[str, Any]
) -> LaborFactorResult | None:
    if not certainly_holds(one.when, facts):
        return None
    return LaborFactorResult(
        labor_factor=one.id,
        description=one.description,
        share=decimal(float(one.share * 100)),
        time=Duration(tasks.value * one.share),
        rule=one.rule,
    )


def _days(crew_minutes: Fraction, working_day: Fraction) -> float:
    """Return days of the crew, rounded up to half ones."""
    halves = 2 * crew_minutes / working_day
    return decimal(whole(halves.numerator, halves.denominator) / 2)


def _missing(rules: RuleSet, facts: Mapping[str, Any]) -> tuple[str, ...]:
    asked = (name for when in _conditions(rules) for name, _ in when)
    return tuple(sorted({name for name in asked if name not in facts}))


def _conditions(rules: RuleSet) -> Iterator[Conditions]:
    for task in rules.work:
        yield task.when
        for effort in (*task.job, *task.estimated, *task.counted):
            yield effort.when
    for labor_factor in rules.labor_factors:
        yield labor_factor.when
