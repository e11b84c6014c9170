"""Lay a job out, and bill what the layout counted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from service.calc.bill import Line, Lines, with_rolls
from service.calc.layout.counts import Counts, WidthPlan, counted_bill, counts_of, plan_cuts
from service.calc.layout.lay import LaidPlane, lay_out, outline_plane
from service.calc.layout.plane import Plane
from service.calc.layout.strips import Readings, Strips, strips_of
from service.calc.outline import Outline
from service.calls.array_forms import ArraysForm, PlaneForm
from service.calls.layout_facts import planes_of
from service.calls.layout_forms import LayoutForm
from service.calls.plane_faults import beside, told
from service.errors import BadInputError, Fault
from service.quantity.show import System
from service.rulesets.figures import Figure
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name

Path = tuple[str | int, ...]


class Planes(msgspec.Struct, frozen=True, kw_only=True):
    """The planes of a job laid out, and the strips that go round them."""

    planes: tuple[LaidPlane, ...]
    strips: Strips | None

    def with_usual(self, readings_nm: Figure[Readings], rules: RuleSet) -> Planes:
        """Return the planes with other readings of the whole job.

        They are laid out anew only where the strips then meet elsewhere.
        """
        outlines = [(one.plane, one.steps.outline) for one in self.planes]
        strips = strips_of(readings_nm, [(p, o.value) for p, o in outlines], rules)
        planes = self.planes
        if self.strips is None or strips.by_place.value != self.strips.by_place.value:
            planes = tuple(lay_out(*outline, rules, strips) for outline in outlines)
        return Planes(planes=planes, strips=strips)


class Laid(msgspec.Struct, frozen=True, kw_only=True):
    """All planes of a job laid out, their counts, and how their rolls are cut."""

    planes: tuple[LaidPlane, ...]
    strips: Strips | None
    counts: Counts
    plans: Figure[tuple[WidthPlan, ...]]


def lay(
    form: LayoutForm | ArraysForm,
    readings_nm: Readings,
    roll_nm: int | None,
    rules: RuleSet,
    system: System,
) -> Laid:
    """Return the layout of a request with its counts and cut plans, as `lay_planes` lays it."""
    laid = lay_planes(form, Figure(readings_nm), rules, system)
    return Laid(
        planes=laid.planes,
        strips=laid.strips,
        counts=counts_of(laid.planes, rules),
        plans=plan_cuts(laid.planes, roll_nm, rules, laid.strips),
    )


def lay_planes(
    form: LayoutForm | ArraysForm, readings_nm: Figure[Readings], rules: RuleSet, system: System
) -> Planes:
    """Return the planes of a request. Raises BadInputError with every fault of all planes.

    `readings_nm` are those of the whole job, none where the strip was given; faults are written in
    the units of `system`.
    """
    outlines, paths = _outlines(form, rules, system)
    strips = None
    if readings_nm.value:
        strips = strips_of(readings_nm, [(p, outline.value) for p, outline in outlines], rules)
    faults: list[Fault] = []
    planes: list[LaidPlane] = []
    for (plane, outline), path in zip(outlines, paths, strict=True):
        try:
            planes.append(lay_out(plane, outline, rules, strips))
        except BadInputError as error:
            faults += [beside(fault, path) for fault in error.faults]
    if faults:
        raise BadInputError(faults)
    return Planes(planes=tuple(planes), strips=strips)


def _outlines(
    form: LayoutForm | ArraysForm, rules: RuleSet, system: System
) -> tuple[list[tuple[Plane, Figure[Outline]]], list[Path]]:
    """Return each plane with its outline, and the paths that lead to their arrays."""
    faults = zone_faults(form, rules)
    outlines: list[tuple[Plane, Figure[Outline]]] = []
    paths: list[Path] = []
    for plane, array, path in planes_of(form):
        try:
            outlines.append((plane, outline_plane(plane, rules)))
            paths.append(path)
        except BadInputError as error:
            faults += told(error, array, path, system)
    if faults:
        raise BadInputError(faults)
    return outlines, paths


def rolled_bill(laid: Laid, facts: Mapping[str, Any], roll_nm: int | None, rules: RuleSet) -> Lines:
    """Return the bill of materials by what the layout counted; its rolls are those of the plan."""
    lines = counted_bill(laid.counts, facts, roll_nm, rules)
    return {
        item: _rolled(line, laid.plans, rules) if line.value.quantity.measured else line
        for item, line in lines.items()
    }


def _rolled(
    line: Figure[Line], plans: Figure[tuple[WidthPlan, ...]], rules: RuleSet
) -> Figure[Line]:
    return rules.figure(
        lambda: with_rolls(line.value, sum(len(each.plan.rolls) for each in plans.value))
    )


def zone_faults(form: LayoutForm | ArraysForm, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not know."""
    parts: list[tuple[Path, LayoutForm | ArraysForm | PlaneForm]] = [((), form)]
    parts += [(("planes", at), plane) for at, plane in enumerate(form.planes)]
    asked: list[tuple[Path, str | None]] = []
    for path, part in parts:
        asked += [((*path, "edges", at, "zone"), e.zone) for at, e in enumerate(part.edges)]
        asked += [((*path, "facings", at, "zone"), f.zone) for at, f in enumerate(part.facings)]
    problem = f"{rules.name} has no such zone."
    return [
        Fault(path=path, problem=problem, remedy=unknown_name(zone, list(rules.zones)))
        for path, zone in asked
        if zone is not None and zone not in rules.zones
    ]
