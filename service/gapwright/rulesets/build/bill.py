"""Build the bill lines, the tasks of a job, and the labor factors."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction

from gapwright.quantity.whole import whole
from gapwright.rulesets.build.conditions import build_conditions
from gapwright.rulesets.measure import Faults, Path
from gapwright.rulesets.ruleset import Effort, Item, LaborFactor, Need, Pack, Task
from gapwright.rulesets.schema import (
    ItemEntry,
    LaborFactorEntry,
    NeedEntry,
    PackEntry,
    TaskEntry,
    WorkNeedEntry,
)
from gapwright.rulesets.vocabulary import (
    COUNTED_DRIVERS,
    DRIVERS,
    JOB_DRIVERS,
    LABOR_FACTOR,
    PACKS,
    PORTIONS,
    SPARE,
    TASK_TIME,
)

LARGEST = {"length": 2 * 10**15, "count": 10**7}
"""More of a driver than any job has: 2,000 km (in nm), ten million pieces."""
LARGEST_LINE = {"length": 10**18, "count": 10**12}
"""More than any line needs. Lines that drive each other multiply."""


def build_items(
    entries: Mapping[str, ItemEntry], written: object, faults: Faults
) -> tuple[Item, ...]:
    """Return the bill lines in order.

    `written` is the section of the file. A driver that is missing only because its own line is
    invalid is not reported again.
    """
    at_fault = set(written) - set(entries) if isinstance(written, Mapping) else set()
    builder = _Bill(faults, at_fault)
    return tuple(builder.item(name, entry) for name, entry in entries.items())


class _Bill:
    """Builds items one by one. `above` has the kind of each item so far."""

    def __init__(self, faults: Faults, at_fault: set[str]) -> None:
        self.faults = faults
        self.at_fault = at_fault
        self.above: dict[str, str] = {}
        self.largest: dict[str, int] = {}

    def item(self, name: str, entry: ItemEntry) -> Item:
        path: Path = ("bill", name)
        kind = "length" if entry.unit == "length" else "count"
        before = len(self.faults)
        if name in COUNTED_DRIVERS:
            self.faults.add(path, "This is the name of a driver.", "Give the item another name.")
        if kind == "length" and entry.minimum:
            problem = "A minimum is a count, but this item is measured by length."
            self.faults.add((*path, "minimum"), problem, "Remove it.")
        estimated = self.needs(entry.estimate, kind, DRIVERS, (*path, "estimate"))
        counted = self.needs(entry.count, kind, COUNTED_DRIVERS, (*path, "count"))
        spare = self.faults.read((*path, "spare"), SPARE.read, entry.spare, Fraction(0))
        most = max(self.most(needs) for needs in (estimated, counted))
        self.above[name] = kind
        self.largest[name] = whole(most * (1 + spare).numerator, spare.denominator)
        if self.largest[name] > LARGEST_LINE[kind] and len(self.faults) == before:
            problem = "On the largest job, the quantity of this line would be too large."
            remedy = "Lower each, raise one_per, or use another driver."
            self.faults.add(path, problem, remedy)
        if len(self.faults) > before:
            self.largest[name] = 1  # so that the lines it drives do not report the fault again
        return Item(
            id=name,
            description=entry.description,
            measured=kind == "length",
            needs=estimated,
            counted=counted or estimated,
            spare=spare,
            minimum=entry.minimum,
            pack=self.pack(entry.pack, kind, (*path, "pack")) if entry.pack else None,
            when=build_conditions(entry.when, (*path, "when"), self.faults),
            rule=f"bill.{name}",
        )

    def most(self, needs: tuple[Need, ...]) -> int:
        """Return an upper limit for the sum of these needs on any job."""
        return sum(
            whole(
                self.largest.get(need.driver) or LARGEST[COUNTED_DRIVERS.get(need.driver, "count")],
                need.one_per,
            )
            * need.each
            for need in needs
        )

    def needs(
        self, entries: Mapping[str, NeedEntry], kind: str, drivers: Mapping[str, str], path: Path
    ) -> tuple[Need, ...]:
        hint = ", and no item above this one has that name"
        known = _Drivers({**drivers, **self.above}, self.faults, self.at_fault, hint)
        portion = known.portion if kind == "count" else known.whole_length
        return tuple(
            Need(
                id=name,
                driver=entry.driver,
                each=entry.each,
                one_per=portion(entry, (*path, name)),
                when=build_conditions(entry.when, (*path, name, "when"), self.faults),
                rule=".".join(map(str, (*path, name))),
            )
            for name, entry in entries.items()
        )

    def pack(self, entry: PackEntry, kind: str, path: Path) -> Pack:
        read = PACKS[kind].read
        return Pack(
            name=entry.name,
            pack_size=self.faults.read((*path, "pack_size"), read, entry.pack_size, 1),
            also=tuple(
                self.faults.read((*path, "also", at), read, raw, 1)
                for at, raw in enumerate(entry.also)
            ),
        )


def build_work(entries: Mapping[str, TaskEntry], faults: Faults) -> tuple[Task, ...]:
    """Return the tasks in order."""
    return tuple(_task(name, entry, ("work", name), faults) for name, entry in entries.items())


def build_labor_factors(
    entries: Mapping[str, LaborFactorEntry], faults: Faults
) -> tuple[LaborFactor, ...]:
    """Return the labor factors in order."""
    return tuple(
        LaborFactor(
            id=name,
            description=entry.description,
            share=faults.read(
                ("labor_factors", name, "share"), LABOR_FACTOR.read, entry.share, Fraction(0)
            ),
            when=build_conditions(entry.when, ("labor_factors", name, "when"), faults),
            rule=f"labor_factors.{name}",
        )
        for name, entry in entries.items()
    )


def _task(name: str, entry: TaskEntry, path: Path, faults: Faults) -> Task:
    if not (entry.job or entry.estimate or entry.count):
        remedy = (
            "Add job, estimate, or count, such as estimate: {running: {driver: perimeter, ...}}."
        )
        faults.add(path, "This task takes no time.", remedy)
    estimated = _efforts(entry.estimate, DRIVERS, (*path, "estimate"), faults)
    return Task(
        id=name,
        description=entry.description,
        job=_efforts(entry.job, JOB_DRIVERS, (*path, "job"), faults),
        estimated=estimated,
        counted=_efforts(entry.count, COUNTED_DRIVERS, (*path, "count"), faults) or estimated,
        when=build_conditions(entry.when, (*path, "when"), faults),
        rule=f"work.{name}",
    )


def _efforts(
    entries: Mapping[str, WorkNeedEntry], drivers: Mapping[str, str], path: Path, faults: Faults
) -> tuple[Effort, ...]:
    known = _Drivers(drivers, faults)
    return tuple(
        Effort(
            id=name,
            driver=entry.driver,
            minutes=faults.read((*path, name, "time"), TASK_TIME.read, entry.time, Fraction(0)),
            one_per=known.portion(entry, (*path, name)),
            when=build_conditions(entry.when, (*path, name, "when"), faults),
            rule=".".join(map(str, (*path, name))),
        )
        for name, entry in entries.items()
    )


class _Drivers:
    """The drivers that a need can have, and whether each is a length or a count.

    `at_fault` has the lines already reported. `hint` is added to the problem.
    """

    def __init__(
        self,
        known: Mapping[str, str],
        faults: Faults,
        at_fault: Collection[str] = (),
        hint: str = "",
    ) -> None:
        self.known, self.faults, self.at_fault, self.hint = known, faults, at_fault, hint

    def kind(self, driver: str, path: Path) -> str | None:
        """Return whether a driver is a length or a count. If unknown, add a fault, return None."""
        if driver not in self.known and driver not in self.at_fault:
            problem = f"Unknown driver '{driver}'{self.hint}."
            self.faults.add_unknown((*path, "driver"), problem, driver, self.known)
        return self.known.get(driver)

    def portion(self, entry: NeedEntry | WorkNeedEntry, path: Path) -> int:
        """Return the amount of the driver per portion: nm of a length, or a count."""
        kind = self.kind(entry.driver, path)
        if kind is None:
            return 1
        return read_portion(entry.driver, kind, entry.one_per, (*path, "one_per"), self.faults)

    def whole_length(self, entry: NeedEntry, path: Path) -> int:
        """Return 1: an item measured by length uses the length of its driver."""
        kind = self.kind(entry.driver, path)
        if kind == "count":
            problem = f"{entry.driver} is a count, but this item is measured by length."
            self.faults.add((*path, "driver"), problem, "Use a driver that is a length.")
        if kind is not None and entry.one_per is not None:
            problem = "An item measured by length uses the length of its driver."
            self.faults.add((*path, "one_per"), problem, "Remove one_per.")
        return 1


def read_portion(driver: str, kind: str, raw: object, path: Path, faults: Faults) -> int:
    """Return the amount of a driver per portion: nm of a length, or a count."""
    if raw is not None:
        return faults.read(path, PORTIONS[kind].read, raw, 1)
    if kind == "length":
        problem = f"{driver} is a length, so one_per is required."
        faults.add(path, problem, "Write, for example, one_per: 6 ft.")
    return 1
