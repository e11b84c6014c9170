"""The layout call: it lays planes out, and counts what they come to."""

from __future__ import annotations

import msgspec

from service.calc.bill import Bill, bill
from service.calc.layout.counts import Counts, counts_of, drivers_of, plan_cuts
from service.calc.layout.lay import LaidPlane, lay_out
from service.calc.rolls import CutPlan
from service.calc.sizing import Sizing, size
from service.calls.layout_facts import planes_of, told
from service.calls.layout_forms import LayoutForm
from service.errors import BadInputError, Fault
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name


class Laid(msgspec.Struct, frozen=True, kw_only=True):
    """A whole job laid out: planes, the strip for all of them, counts and cut plan."""

    planes: tuple[LaidPlane, ...]
    sizing: Sizing
    counts: Counts
    plan: CutPlan


def lay(form: LayoutForm, rules: RuleSet) -> Laid:
    """Return the layout of a request. Raises BadInputError with every fault of all planes."""
    faults: list[Fault] = list(_zone_faults(form, rules))
    planes: list[LaidPlane] = []
    for plane, path in planes_of(form):
        array = form.array or form.planes[path[1]].array  # type: ignore[index]
        try:
            if not faults:
                planes.append(lay_out(plane, rules))
        except BadInputError as error:
            faults += told(error, array, path).faults
    if faults:
        raise BadInputError(faults)
    plan = plan_cuts(planes, form.roll_length, rules)
    return Laid(
        planes=tuple(planes),
        sizing=size(form.clearance.readings, rules.values),
        counts=counts_of(planes, plan, rules),
        plan=plan,
    )


def counted_bill(laid: Laid, form: LayoutForm, rules: RuleSet) -> Bill:
    """Return the bill of materials by what the layout counted."""
    facts = {"joining": form.joining, "painted": form.painted}
    return bill(drivers_of(laid.counts, rules), facts, form.roll_length, rules, counted=True)


def _zone_faults(form: LayoutForm, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not know."""
    asked: list[tuple[tuple[str | int, ...], str | None]] = []
    parts: list[tuple[tuple[str | int, ...], object]] = [((), form)]
    parts += [(("planes", at), plane) for at, plane in enumerate(form.planes)]
    for path, part in parts:
        for member in ("edges", "facings"):
            entries = getattr(part, member)
            asked += [((*path, member, at, "zone"), e.zone) for at, e in enumerate(entries)]
    problem = f"{rules.name} has no such zone."
    return [
        Fault(path=path, problem=problem, remedy=unknown_name(zone, list(rules.zones)))
        for path, zone in asked
        if zone is not None and zone not in rules.zones
    ]
