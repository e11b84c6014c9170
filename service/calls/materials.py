"""The materials call: the bill by thumb rules from a perimeter, or as a layout counts it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from service.calc.bill import Line, Lines, bill, tools_of, zoned_of
from service.calc.estimate import MaterialsResult, StripLength, strip_of, thumb_drivers
from service.calc.layout.counts import WidthPlan
from service.calc.layout.strips import Strip
from service.calc.sizing import Advice
from service.calls.array_forms import ArraysForm
from service.calls.computed import Computed, refuse
from service.calls.laying import Laid, lay, rolled_bill
from service.calls.materials_form import MaterialsForm
from service.calls.plane_faults import within
from service.calls.roll_lengths import roll_faults
from service.errors import BadInputError, Fault
from service.quantity.output import Amount, RunUp, SectionDown
from service.rulesets.figures import Figure
from service.rulesets.ruleset import RuleSet
from service.strict import unknown_name


def materials(form: MaterialsForm, rules: RuleSet) -> Computed:
    """Return the bill of materials. Raises BadInputError with every fault of the request."""
    if form.layout is not None:
        return _counted(form, form.layout, rules)
    refuse([*roll_faults(form.roll_length, form, rules), *_zone_faults(form, rules)])
    readings = form.clearance.readings if form.clearance else ()
    strip, sizing = strip_of(form.strip_width, tuple(map(int, readings)), rules)
    perimeter = Figure(int(form.perimeter or 0))
    zones = {name: Figure(int(length)) for name, length in form.zones.items()}
    lines = _thumb_rules(form, perimeter, zones, rules) if strip.value is not None else {}
    return Computed(
        result=MaterialsResult(
            perimeter=RunUp(perimeter.value),
            strip_width=_strip_width(strip, rules),
            advice=rules.show("/advice", sizing.advice) if sizing else (),
            lines=_lines(lines, strip, rules),
            tools=tools_of(_facts(form), rules),
        ),
        facts=_facts(form),
    )


def _counted(form: MaterialsForm, arrays: ArraysForm, rules: RuleSet) -> Computed:
    """Return the bill by what a layout counts, with the thumb rules' figures beside it.

    Where edges take different strips, the strip is the usual one. A bill that lacks part of the job
    would be taken for the whole: there is none where some edges have no stocked strip.
    """
    laid = _laid(form, arrays, rules)
    strips = laid.strips.strips if laid.strips else ()
    sizings = [strip.sizing for strip in strips]

    def usual_width() -> int | None:
        widths = [sizing.strip_nm.value for sizing in sizings]
        return None if None in widths else [*widths, form.strip_width][0]

    strip = rules.figure(usual_width)
    lines: Lines = {}
    if strip.value is not None:
        zones = {name: nm for name, nm in laid.counts.zones_nm.items() if name != "standard"}
        thumb = _thumb_rules(form, laid.counts.perimeter_nm, zones, rules)
        counted = rolled_bill(laid, _facts(form), form.roll_length, rules)
        lines = {item: _beside(line, thumb.get(item), rules) for item, line in counted.items()}
    perimeter = rules.show("/perimeter", laid.counts.perimeter_nm)
    return Computed(
        result=MaterialsResult(
            perimeter=RunUp(perimeter),
            strip_width=_strip_width(strip, rules),
            advice=rules.show("/advice", rules.figure(lambda: tuple(_advice(strips)))),
            lines=_lines(lines, strip, rules),
            tools=tools_of(_facts(form), rules),
            strips=_by_width(strips, laid.plans, strip, rules),
        ),
        facts=_facts(form),
    )


def _facts(form: MaterialsForm) -> dict[str, str]:
    return {"joining": form.joining, "painted": form.painted}


def _thumb_rules(
    form: MaterialsForm,
    perimeter_nm: Figure[int],
    zones_nm: Mapping[str, Figure[int]],
    rules: RuleSet,
) -> Lines:
    """Return the lines that the thumb rules give for a perimeter with parts of it in zones."""
    if zones_nm:
        rest = rules.figure(
            lambda: perimeter_nm.value - sum(length.value for length in zones_nm.values())
        )
        zones_nm = {"standard": rest, **zones_nm}
    drivers = thumb_drivers(perimeter_nm, form.corners, form.penetrations, rules)
    return bill(drivers, _facts(form), form.roll_length, rules, zoned_of(zones_nm, rules))


def _strip_width(strip: Figure[int | None], rules: RuleSet) -> SectionDown | None:
    width = rules.show("/strip_width", strip)
    return None if width is None else SectionDown(width)


def _lines(lines: Lines, strip: Figure[int | None], rules: RuleSet) -> tuple[Line, ...]:
    """Return the lines as an answer has them; there are none without a strip."""
    rules.show("/lines", strip)
    return tuple(rules.show(f"/lines/{at}", line) for at, line in enumerate(lines.values()))


def _beside(line: Figure[Line], thumb: Figure[Line] | None, rules: RuleSet) -> Figure[Line]:
    """Return a counted line with the thumb rules' quantity beside it."""

    def compute() -> Line:
        found = line.value
        none = Amount(0, found.quantity.measured)
        return msgspec.structs.replace(found, thumb_rule=thumb.value.quantity if thumb else none)

    return rules.figure(compute)


def _advice(strips: Sequence[Strip]) -> Iterator[Advice]:
    yield from dict.fromkeys(one for strip in strips for one in strip.sizing.advice.value)


def _by_width(
    strips: Sequence[Strip],
    plans: Figure[tuple[WidthPlan, ...]],
    strip: Figure[int | None],
    rules: RuleSet,
) -> tuple[StripLength, ...] | msgspec.UnsetType:
    """Return the mesh by width of strip, where a layout takes several widths."""

    def compute() -> tuple[StripLength, ...] | msgspec.UnsetType:
        if len({one.sizing.strip_nm.value for one in strips}) < 2:
            return msgspec.UNSET
        return tuple(map(_strip_length, plans.value)) if strip.value is not None else ()

    found = rules.figure(compute)
    # where there is no such member, the result as a whole follows from what leaves it out
    return rules.show("" if found.value is msgspec.UNSET else "/strips", found)


def _strip_length(each: WidthPlan) -> StripLength:
    assert each.strip_nm is not None
    cut = sum(piece.length_nm for roll in each.plan.rolls for piece in roll.pieces)
    return StripLength(
        strip_width=SectionDown(each.strip_nm), length=RunUp(cut), rolls=len(each.plan.rolls)
    )


def _laid(form: MaterialsForm, arrays: ArraysForm, rules: RuleSet) -> Laid:
    """Return the layout of a request. Raises BadInputError with paths that lead into it."""
    readings = tuple(map(int, form.clearance.readings)) if form.clearance else ()
    faults = roll_faults(form.roll_length, form, rules)
    roll = None if faults else form.roll_length
    try:
        laid = lay(arrays, readings, roll, rules, form.units or rules.units)
    except BadInputError as error:
        raise BadInputError([*faults, *(within(f, ("layout",)) for f in error.faults)]) from None
    refuse(faults)
    return laid


def _zone_faults(form: MaterialsForm, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not have."""
    problem = f"{rules.name} has no such zone."
    return [
        Fault(path=("zones", name), problem=problem, remedy=unknown_name(name, list(rules.zones)))
        for name in form.zones
        if name not in rules.zones or name == "standard"
    ]
