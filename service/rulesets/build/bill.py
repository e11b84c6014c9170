"""Build the lines of the bill from a rule file."""

from __future__ import annotations

from collections.abc import Mapping

from service.quantity.whole import whole
from service.rulesets.build.conditions import build_conditions
from service.rulesets.measure import Faults, Path
from service.rulesets.ruleset import Item, Need, Pack
from service.rulesets.schema import ItemEntry, NeedEntry, PackEntry
from service.rulesets.vocabulary import COUNTED_DRIVERS, DRIVERS, PACKS, PORTIONS, SPARE
from service.strict import unknown_name

LARGEST = {"length": 2 * 10**15, "count": 10**7}
"""More of a driver than any job has: 2,000 km [nm], ten million pieces."""
LARGEST_LINE = {"length": 10**18, "count": 10**12}
"""More than any line may come to: lines that drive each other multiply."""


def build_items(
    entries: Mapping[str, ItemEntry], written: object, faults: Faults
) -> tuple[Item, ...]:
    """Return the items of the bill in their order.

    `written` is the section as it stands: a driver that is missing only because its own line is at
    fault is not told of again.
    """
    at_fault = set(written) - set(entries) if isinstance(written, Mapping) else set()
    builder = _Builder(faults, at_fault)
    return tuple(builder.item(name, entry) for name, entry in entries.items())


class _Builder:
    """Builds items one after another; `above` has the kind of each, and the most it comes to."""

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
            self.faults.add(path, "A driver has this name.", "Give the item another name.")
        if kind == "length" and entry.minimum:
            problem = "A minimum is a count, and this item is measured by length."
            self.faults.add((*path, "minimum"), problem, "Leave it out.")
        estimated = self.needs(entry.estimate, kind, DRIVERS, (*path, "estimate"))
        counted = self.needs(entry.count, kind, COUNTED_DRIVERS, (*path, "count"))
        spare = self.faults.read(
            (*path, "spare"), lambda: SPARE.read(entry.spare), SPARE.read("0 %")
        )
        most = max(self.most(needs) for needs in (estimated, counted))
        self.above[name] = kind
        self.largest[name] = min(whole(most * (1 + spare).numerator, spare.denominator), 10**30)
        if self.largest[name] > LARGEST_LINE[kind] and len(self.faults) == before:
            problem = "This line could come to more than can be counted on the largest of jobs."
            self.faults.add(
                path, problem, "Lower each, raise one_per, or drive it by another line."
            )
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
        """Return more than these needs come to on any job."""
        return sum(
            whole(self.largest.get(need.driver, 0) or _largest_driver(need.driver), need.one_per)
            * need.each
            for need in needs
        )

    def needs(
        self, entries: Mapping[str, NeedEntry], kind: str, drivers: Mapping[str, str], path: Path
    ) -> tuple[Need, ...]:
        known = {**drivers, **self.above}
        return tuple(
            Need(
                id=name,
                driver=entry.driver,
                each=entry.each,
                one_per=self.one_per(entry, kind, known, (*path, name)),
                when=build_conditions(entry.when, (*path, name, "when"), self.faults),
                rule=".".join(str(step) for step in (*path, name)),
            )
            for name, entry in entries.items()
        )

    def one_per(self, entry: NeedEntry, kind: str, drivers: Mapping[str, str], path: Path) -> int:
        """Return how much of the driver one portion is for: nm of a length, or a count."""
        driven = check_driver(entry.driver, drivers, (*path, "driver"), self.faults, self.at_fault)
        if driven is None:
            return 1
        if kind == "length":
            if driven == "count":
                problem = f"{entry.driver} is a count, and this item is measured by length."
                self.faults.add((*path, "driver"), problem, "Use a length.")
            if entry.one_per is not None:
                problem = "A measured item takes the length of its driver as it is."
                self.faults.add((*path, "one_per"), problem, "Leave one_per out.")
            return 1
        return read_portion(entry.driver, driven, entry.one_per, (*path, "one_per"), self.faults)

    def pack(self, entry: PackEntry, kind: str, path: Path) -> Pack:
        sizes = [
            self.faults.read((*path, *place), lambda raw=raw: int(PACKS[kind].read(raw)), 1)
            for place, raw in (
                (("holds",), entry.holds),
                *((("also", at), raw) for at, raw in enumerate(entry.also)),
            )
        ]
        return Pack(name=entry.name, holds=sizes[0], also=tuple(sizes[1:]))


def _largest_driver(name: str) -> int:
    return LARGEST[COUNTED_DRIVERS.get(name, "count")]


def check_driver(
    driver: str,
    drivers: Mapping[str, str],
    path: Path,
    faults: Faults,
    at_fault: set[str] | None = None,
) -> str | None:
    """Return whether a driver is a length or a count; None with a fault where there is none.

    `at_fault` are lines that can drive others and are told of already; None where lines cannot.
    """
    kind = drivers.get(driver)
    if kind is None and driver not in (at_fault or ()):
        above = ", and no item of that name above this one" if at_fault is not None else ""
        problem = f"There is no driver {driver} here{above}."
        faults.add(path, problem, unknown_name(driver, list(drivers)))
    return kind


def read_portion(driver: str, kind: str, raw: object, path: Path, faults: Faults) -> int:
    """Return how much of a driver one portion is for: nm of a length, or a count."""
    if raw is not None:
        return faults.read(path, lambda: int(PORTIONS[kind].read(raw)), 1)
    if kind == "length":
        problem = f"{driver} is a length, so it must be said how much of it takes one portion."
        faults.add(path, problem, "Write one_per: 6 ft, say.")
    return 1
