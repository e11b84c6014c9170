"""The quick estimate: a bill of materials from a perimeter, before a drawing exists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from service.calc.bill import Bill, Zoned, bill, quick_drivers, zoned_of
from service.calc.sizing import Sizing, size
from service.facts import Joining, Painted
from service.rulesets.ruleset import RuleSet


class QuickJob(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A job for the quick estimate [nm]; either `strip_nm` or `readings_nm` is given."""

    perimeter_nm: int
    strip_nm: int | None
    readings_nm: Sequence[int]
    joining: Joining
    painted: Painted
    corners: int | None
    penetrations: int
    roll_nm: int | None
    zones: Mapping[str, int]
    """Lengths of the perimeter in each zone; the rest is standard."""


class Estimate(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The bill of a quick estimate; without a strip that is wide enough it has no lines."""

    strip_nm: int | None
    sizing: Sizing | None
    bill: Bill


def estimate(job: QuickJob, rules: RuleSet) -> Estimate:
    """Return the bill of materials by the rule set's thumb rules."""
    sizing = size(job.readings_nm, rules.values) if job.strip_nm is None else None
    strip = job.strip_nm if sizing is None else sizing.strip_nm
    corners = rules.values.usual_corners if job.corners is None else job.corners
    drivers = quick_drivers(job.perimeter_nm, corners, job.penetrations, rules.values)
    facts = {"joining": job.joining, "painted": job.painted}
    zoned = _zoned(job, rules) if job.zones else ()
    assumed = (("corners", "values.usual_corners"),) if job.corners is None else ()
    found = bill(drivers, facts, job.roll_nm, rules, zoned, assumed=assumed)
    if strip is None:
        found = Bill(lines=(), tools=found.tools, trace=())
    return Estimate(strip_nm=strip, sizing=sizing, bill=found)


def _zoned(job: QuickJob, rules: RuleSet) -> tuple[Zoned, ...]:
    """Return the drivers of each zone, the standard one first."""
    rest = job.perimeter_nm - sum(job.zones.values())
    return zoned_of({"standard": rest, **job.zones}, rules)
