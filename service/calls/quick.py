"""The quick estimate as a call: the bill by thumb rules, from a perimeter."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from service.calc.estimate import Estimate, QuickJob, estimate
from service.calc.sizing_trace import sizing_trace
from service.calc.trace import Step
from service.calls.answers.materials import show_materials
from service.calls.computed import Computed
from service.calls.materials_form import MaterialsForm
from service.errors import Fault
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name


def quick_materials(form: MaterialsForm, rules: RuleSet) -> Computed:
    """Return the bill of materials of a quick estimate."""
    readings = form.clearance.readings if form.clearance else ()
    perimeter = int(form.perimeter or 0)
    found = estimate(quick_job(form, perimeter, readings), rules)
    return Computed(
        result=show_materials(found, perimeter, form.units or rules.units),
        facts={"joining": form.joining, "painted": form.painted},
        trace=_joined(strip_steps(found, rules), found.bill.trace),
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
    problem = f"{rules.name} has no such zone."
    return [
        Fault(path=("zones", name), problem=problem, remedy=unknown_name(name, list(rules.zones)))
        for name in form.zones
        if name not in rules.zones or name == "standard"
    ]


@lru_cache(maxsize=1024)
def _strip_steps(sizing: tuple[Step, ...]) -> tuple[Step, ...]:
    strip = ("values.strip_margin", "values.stocked_widths")
    advice = next(step for step in sizing if step.figure == "/advice")
    return (Step("/strip_width", strip), advice, Step("/lines", strip))


def strip_steps(found: Estimate, rules: RuleSet) -> tuple[Step, ...]:
    """Return what follows from the sizing of the strip, unless the strip was told."""
    return _strip_steps(sizing_trace(found.sizing, rules.values)) if found.sizing else ()


@lru_cache(maxsize=1024)
def _joined(first: tuple[Step, ...], then: tuple[Step, ...]) -> tuple[Step, ...]:
    """Return two traces as one, the same object each time: a trace is known again by that."""
    return (*first, *then)
