"""The quick estimate: a bill of materials from a perimeter, before a drawing exists."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.bill import Bill, bill, quick_drivers
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
    drivers = quick_drivers(job.perimeter_nm, corners, job.penetrations, rules)
    facts = {"joining": job.joining, "painted": job.painted}
    found = bill(drivers, facts, job.roll_nm, rules)
    if strip is None:
        found = Bill(lines=(), tools=found.tools, trace=())
    return Estimate(strip_nm=strip, sizing=sizing, bill=found)
