"""Build the tasks of a job and the surcharges on them."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build.conditions import build_conditions
from service.rulesets.build.measure import portion, share, time
from service.rulesets.quote_entries import SurchargeEntry, TaskEntry, WorkNeedEntry
from service.rulesets.ruleset import Effort, Surcharge, Task
from service.rulesets.vocabulary import COUNTED_DRIVERS, DRIVERS, JOB_DRIVERS
from service.strict import unknown_name

Path = tuple[str | int, ...]


def build_work(entries: Mapping[str, TaskEntry], found: list[Fault]) -> tuple[Task, ...]:
    """Return the tasks in their order; faults are added to `found`."""
    return tuple(_task(name, entry, ("work", name), found) for name, entry in entries.items())


def build_surcharges(
    entries: Mapping[str, SurchargeEntry], found: list[Fault]
) -> tuple[Surcharge, ...]:
    """Return the surcharges in their order; faults are added to `found`."""
    built = []
    for name, entry in entries.items():
        path: Path = ("surcharges", name)
        try:
            part = share(entry.share)
        except QuantityError as error:
            found.append(Fault(path=(*path, "share"), problem=str(error)))
            part = Fraction(0)
        built.append(
            Surcharge(
                id=name,
                means=entry.means,
                share=part,
                when=build_conditions(entry.when, (*path, "when"), found),
                rule=f"surcharges.{name}",
            )
        )
    return tuple(built)


def _task(name: str, entry: TaskEntry, path: Path, found: list[Fault]) -> Task:
    if not (entry.job or entry.estimate or entry.count):
        problem = "This task takes no time at all."
        remedy = "Write job, estimate or count, as in estimate: {walking: {driver: perimeter, …}}."
        found.append(Fault(path=path, problem=problem, remedy=remedy))
    parts = (
        ("job", entry.job, JOB_DRIVERS),
        ("estimate", entry.estimate, DRIVERS),
        ("count", entry.count, COUNTED_DRIVERS),
    )
    job, estimated, counted = (
        tuple(
            _effort(need, need_entry, drivers, (*path, part, need), found)
            for need, need_entry in needs.items()
        )
        for part, needs, drivers in parts
    )
    return Task(
        id=name,
        means=entry.means,
        job=job,
        estimated=estimated,
        counted=counted or estimated,
        when=build_conditions(entry.when, (*path, "when"), found),
        rule=f"work.{name}",
    )


def _effort(
    name: str, entry: WorkNeedEntry, drivers: Mapping[str, str], path: Path, found: list[Fault]
) -> Effort:
    kind = drivers.get(entry.driver)
    one_per = 1
    if kind is None:
        remedy = unknown_name(entry.driver, list(drivers))
        problem = f"There is no driver {entry.driver} here."
        found.append(Fault(path=(*path, "driver"), problem=problem, remedy=remedy))
    else:
        one_per = _one_per(entry, kind, (*path, "one_per"), found)
    return Effort(
        id=name,
        driver=entry.driver,
        minutes=_minutes(entry.time, (*path, "time"), found),
        one_per=one_per,
        when=build_conditions(entry.when, (*path, "when"), found),
        rule=".".join(str(step) for step in path),
    )


def _minutes(raw: object, path: Path, found: list[Fault]) -> Fraction:
    try:
        minutes = time(raw)
        if minutes == 0:
            raise QuantityError("Work takes time. Write more than zero.")
    except QuantityError as error:
        found.append(Fault(path=path, problem=str(error)))
        return Fraction(0)
    return minutes


def _one_per(entry: WorkNeedEntry, kind: str, path: Path, found: list[Fault]) -> int:
    """Return how much of the driver takes the time once: nm of a length, or a count."""
    if entry.one_per is None:
        if kind == "length":
            problem = f"{entry.driver} is a length, so it must be said how much takes that time."
            found.append(Fault(path=path, problem=problem, remedy="Write one_per: 10 ft, say."))
        return 1
    return portion(entry.one_per, kind, path, found)
