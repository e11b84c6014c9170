"""A job to be quoted, with nothing left open, and the strip that each of its arrays takes.

Arrays with the same readings are sized together. Planes that are drawn have the strips by which
they were laid out, given by side.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

import msgspec

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.strips import Strip, Strips
from gapwright.calc.sizing import Sizing, size, widened
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet


class Area(msgspec.Struct, frozen=True, kw_only=True):
    """One array of a quick estimate [nm]; `corners` is None if the default count is used."""

    name: str
    perimeter_nm: Figure[int]
    corners: Figure[int] | None
    penetrations: int
    readings_nm: Figure[tuple[int, ...]]


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """All arrays of a job, estimated in `areas` or laid out, and how the work is done.

    `facts` decide which bill lines, tasks, labor factors and cautions apply; an assumed one is a
    figure. `wider` takes the strip that many stock widths above the narrowest that covers the
    clearance. `drawn` are the strips of the planes that are laid out. Array names are unique.
    """

    areas: tuple[Area, ...]
    laid: tuple[LaidPlane, ...]
    planes: int
    facts: Mapping[str, Any]
    roll_nm: int | None
    crew: Figure[int]
    working_day: Figure[Fraction]
    wider: int = 0
    drawn: Strips | None = None


class JobStrip(msgspec.Struct, frozen=True, kw_only=True):
    """A strip and its channel, and the arrays that take it, by name.

    `readings_nm` are those of its arrays, empty where drawn planes gave several; `drawn` is the
    same strip as the layout has it, None where no drawn plane takes it.
    """

    names: tuple[str, ...]
    readings_nm: tuple[int, ...]
    sizing: Sizing
    drawn: Strip | None = None

    @property
    def width_nm(self) -> int | None:
        """Return the width [nm], None where no stock strip is wide enough."""
        return self.sizing.strip_nm.value


def job_strips(job: Job, rules: RuleSet) -> tuple[JobStrip, ...]:
    """Return the strips of a job, in the order in which its arrays first take them.

    A drawn plane shares the strip of arrays that are not drawn where all its readings are theirs.
    """
    found: dict[object, JobStrip] = {}
    for area in job.areas:
        readings = area.readings_nm.value
        same = found.get(readings) or _estimated(area, job, rules)
        found[readings] = msgspec.structs.replace(same, names=(*same.names, area.name))
    if job.drawn:
        depend_on(job.drawn.by_place, *(plane.steps.outline for plane in job.laid))
    for strip in job.drawn.strips if job.drawn else ():
        one = _drawn(strip, job, rules)
        same = found.get(one.readings_nm, one)
        names = tuple(dict.fromkeys((*same.names, *one.names)))
        found[one.readings_nm or strip.name] = msgspec.structs.replace(one, names=names)
    return tuple(found.values())


def width_of(area: Area, strips: Sequence[JobStrip]) -> Figure[int | None]:
    """Return the width of the strip that an array takes [nm]."""
    readings = area.readings_nm.value
    return next(strip.sizing.strip_nm for strip in strips if strip.readings_nm == readings)


def drawn_strips(job: Job, strips: Sequence[JobStrip]) -> tuple[Strip, ...]:
    """Return the strips of the planes that are drawn, as a layout has them."""
    known = {strip.drawn.name: strip.drawn for strip in strips if strip.drawn}
    return tuple(known[strip.name] for strip in (job.drawn.strips if job.drawn else ()))


def _estimated(area: Area, job: Job, rules: RuleSet) -> JobStrip:
    """Return the strip of an array that is not drawn, before it has a name."""
    readings = area.readings_nm
    sizing = size(rules.figure(lambda: (readings.value,)), rules)
    return JobStrip(names=(), readings_nm=readings.value, sizing=widened(sizing, job.wider, rules))


def _drawn(strip: Strip, job: Job, rules: RuleSet) -> JobStrip:
    """Return the strip of drawn planes."""
    sizing = widened(strip.sizing, job.wider, rules)
    readings = tuple(dict.fromkeys(readings.readings_nm for readings in strip.readings))
    return JobStrip(
        names=tuple(_users(strip.name, job)),
        readings_nm=readings[0] if len(readings) == 1 else (),
        sizing=sizing,
        drawn=msgspec.structs.replace(strip, sizing=sizing),
    )


def _users(strip: str, job: Job) -> Iterator[str]:
    """Yield the planes with sides that take a strip; where all sides are open, all planes."""
    every = not any(side.strip for plane in job.laid for side in plane.sides)
    for plane in job.laid:
        if every or any(side.strip == strip for side in plane.sides):
            yield plane.plane.name
