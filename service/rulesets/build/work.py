"""Build the tasks of a job and the surcharges on them."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from service.rulesets.build.bill import check_driver, read_portion
from service.rulesets.build.conditions import build_conditions
from service.rulesets.measure import Faults, Path
from service.rulesets.quoting import SURCHARGE, TASK_TIME
from service.rulesets.ruleset import Effort, Surcharge, Task
from service.rulesets.schema import SurchargeEntry, TaskEntry, WorkNeedEntry
from service.rulesets.vocabulary import COUNTED_DRIVERS, DRIVERS, JOB_DRIVERS


def build_work(entries: Mapping[str, TaskEntry], faults: Faults) -> tuple[Task, ...]:
    """Return the tasks in their order."""
    return tuple(_task(name, entry, ("work", name), faults) for name, entry in entries.items())


def build_surcharges(
    entries: Mapping[str, SurchargeEntry], faults: Faults
) -> tuple[Surcharge, ...]:
    """Return the surcharges in their order."""
    return tuple(
        Surcharge(
            id=name,
            means=entry.means,
            share=faults.read(
                ("surcharges", name, "share"), lambda: SURCHARGE.read(entry.share), Fraction(0)
            ),
            when=build_conditions(entry.when, ("surcharges", name, "when"), faults),
            rule=f"surcharges.{name}",
        )
        for name, entry in entries.items()
    )


def _task(name: str, entry: TaskEntry, path: Path, faults: Faults) -> Task:
    if not (entry.job or entry.estimate or entry.count):
        remedy = "Write job, estimate or count, as in estimate: {walking: {driver: perimeter, …}}."
        faults.add(path, "This task takes no time at all.", remedy)
    job = _efforts(entry.job, JOB_DRIVERS, (*path, "job"), faults)
    estimated = _efforts(entry.estimate, DRIVERS, (*path, "estimate"), faults)
    counted = _efforts(entry.count, COUNTED_DRIVERS, (*path, "count"), faults)
    return Task(
        id=name,
        means=entry.means,
        job=job,
        estimated=estimated,
        counted=counted or estimated,
        when=build_conditions(entry.when, (*path, "when"), faults),
        rule=f"work.{name}",
    )


def _efforts(
    needs: Mapping[str, WorkNeedEntry], drivers: Mapping[str, str], path: Path, faults: Faults
) -> tuple[Effort, ...]:
    return tuple(
        _effort(name, entry, drivers, (*path, name), faults) for name, entry in needs.items()
    )


def _effort(
    name: str, entry: WorkNeedEntry, drivers: Mapping[str, str], path: Path, faults: Faults
) -> Effort:
    kind = check_driver(entry.driver, drivers, (*path, "driver"), faults)
    one_per = 1
    if kind is not None:
        one_per = read_portion(entry.driver, kind, entry.one_per, (*path, "one_per"), faults)
    return Effort(
        id=name,
        driver=entry.driver,
        minutes=faults.read((*path, "time"), lambda: TASK_TIME.read(entry.time), Fraction(0)),
        one_per=one_per,
        when=build_conditions(entry.when, (*path, "when"), faults),
        rule=".".join(str(step) for step in path),
    )
