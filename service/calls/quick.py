"""The quick estimate as a call: the bill by thumb rules, from a perimeter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from service.calc.estimate import Estimate, QuickJob, estimate
from service.calc.sizing import Sizing
from service.calc.sizing_trace import sizing_trace
from service.calc.trace import Step
from service.calls.answers.materials import MaterialsAnswer, show_materials
from service.calls.answers.written_bill import write_materials
from service.calls.materials_form import MaterialsForm
from service.errors import Fault
from service.kept import Kept
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name


class QuickMaterials(msgspec.Struct, frozen=True, kw_only=True):
    """What a quick estimate comes to, as `Computed` tells it; the result is shown when asked for.

    Most callers only want it written, which is quicker.
    """

    estimate: Estimate
    perimeter_nm: int
    system: System
    facts: dict[str, Any]
    trace: tuple[Step, ...]

    @property
    def result(self) -> MaterialsAnswer:
        """Return the result in its wire form."""
        return show_materials(self.estimate, self.perimeter_nm, self.system)

    def canonical(self) -> bytes:
        """Return the result as canonical JSON."""
        return write_materials(self.estimate, self.perimeter_nm, self.system)


def quick_materials(form: MaterialsForm, rules: RuleSet) -> QuickMaterials:
    """Return the bill of materials of a quick estimate."""
    readings = form.clearance.readings if form.clearance else ()
    perimeter = int(form.perimeter or 0)
    found = estimate(quick_job(form, perimeter, readings), rules)
    return QuickMaterials(
        estimate=found,
        perimeter_nm=perimeter,
        system=form.units or rules.units,
        facts={"joining": form.joining, "painted": form.painted},
        trace=_trace(found, rules),
    )


def quick_job(form: MaterialsForm, perimeter_nm: int, readings_nm: Sequence[int]) -> QuickJob:
    """Return what the thumb rules go by."""
    return QuickJob(
        perimeter_nm=perimeter_nm,
        strip_nm=form.strip_width,
        readings_nm=readings_nm,
        joining=form.joining,
        painted=form.painted,
        corners=form.corners,
        penetrations=form.penetrations,
        roll_nm=form.roll_length,
        zones=form.zones,
    )


def zone_faults(form: MaterialsForm, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not have."""
    if not form.zones:
        return []
    problem = f"{rules.name} has no such zone."
    return [
        Fault(path=("zones", name), problem=problem, remedy=unknown_name(name, list(rules.zones)))
        for name in form.zones
        if name not in rules.zones or name == "standard"
    ]


def strip_steps(sizing: Sizing | None, rules: RuleSet) -> tuple[Step, ...]:
    """Return what follows from the sizing of the strip, unless the strip was told."""
    return _strip_steps(sizing_trace(sizing, rules.values)) if sizing else ()


def _strip_steps(sizing: tuple[Step, ...]) -> tuple[Step, ...]:
    strip = ("values.strip_margin", "values.stocked_widths")
    advice = next(step for step in sizing if step.figure == "/advice")
    return (Step("/strip_width", strip), advice, Step("/lines", strip))


def _trace(found: Estimate, rules: RuleSet) -> tuple[Step, ...]:
    """Return the trace of an estimate: where it comes again, the same object as before."""
    if found.sizing is None:
        return found.bill.trace
    return _joined(sizing_trace(found.sizing, rules.values), found.bill.trace)


_joined = Kept(lambda sizing, bill: (*_strip_steps(sizing), *bill))
