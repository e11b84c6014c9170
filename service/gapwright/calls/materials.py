"""The materials call: a quick estimate from a perimeter, or counts from a layout."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Annotated, Any

import msgspec

from gapwright.calc.bill import (
    Line,
    Lines,
    Tools,
    bill,
    lines_of,
    quick_drivers,
    tools_of,
    with_rolls,
    zoned_of,
)
from gapwright.calc.layout.counts import WidthPlan, counted_bill
from gapwright.calc.sizing import Advice, Sizing, size
from gapwright.calc.suitability import attached_to, roof_facts
from gapwright.calls.array import ArraysInput, PlaneInput, arrays_faults
from gapwright.calls.planes import JobLayout, lay
from gapwright.calls.request import (
    BaseRequest,
    Computed,
    Path,
    ZoneName,
    readings_nm,
    refuse,
    roll_faults,
)
from gapwright.errors import Fault
from gapwright.facts import Clearance, Covering, Joining, Painted, Racking
from gapwright.quantity.kinds import Perimeter, RollLength, StripWidth
from gapwright.quantity.output import Amount, RunUp, SectionDown
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet
from gapwright.strict import unknown_name

Count = Annotated[int, msgspec.Meta(ge=0, le=100_000)]


class MaterialsRequest(BaseRequest, frozen=True, kw_only=True):
    """List the materials for a perimeter or a layout, with a clearance or a strip width.

    Give exactly one of `perimeter` and `layout`, and exactly one of `clearance` and `strip_width`.
    A layout counts corners, penetrations, and zones itself: omit these members then.
    """

    roof_covering: Covering = "unknown"
    """Roof covering."""
    racking: Racking = "rail_mounted"
    """Kind of racking, which decides what the channel is attached to."""
    perimeter: Perimeter | None = None
    """Perimeter of the array, or of all arrays together, in place of a layout."""
    layout: ArraysInput | None = None
    """The arrays to lay out and count, in place of a perimeter."""
    clearance: Clearance | None = None
    """Readings of the clearance, in place of a strip width."""
    strip_width: StripWidth | None = None
    """The strip to use, in place of a clearance."""
    joining: Joining = "rings"
    """How overlaps are joined."""
    finish: Painted = "prepainted"
    """Whether parts are bought prepainted or sprayed."""
    corners: Count | None = None
    """Number of corners. Default: `default_corners` of the rule set."""
    penetrations: Count = 0
    """Number of conduits, pipes and vents at the perimeter."""
    roll_length: RollLength | None = None
    """A roll length from the rule set. Default: its first."""
    zones: Annotated[
        dict[ZoneName, Perimeter], msgspec.Meta(max_length=10, examples=[{"exposed": "30 ft"}])
    ] = {}  # noqa: RUF012 - msgspec copies it
    """Length of the perimeter in each zone of the rule set. The rest is standard."""

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return a fault for each pair of members unless exactly one of them is given."""
        return [
            *_exactly_one(raw, "clearance", "strip_width"),
            *_exactly_one(raw, "perimeter", "layout"),
        ]

    def faults(self) -> list[Fault]:
        """Return what is wrong between members: pairs of which one is given, and the zones."""
        either = ("clearance", "strip_width", "perimeter", "layout")
        found = self.missing({name: getattr(self, name) for name in either})
        if self.layout is not None:
            found += arrays_faults(self.layout, ("layout",))
            problem, remedy = (
                "The layout counts this itself.",
                "Remove it, or give it in the layout.",
            )
            found += [
                Fault(path=(name,), problem=problem, remedy=remedy)
                for name in ("corners", "penetrations", "zones")
                if getattr(self, name)
            ]
        if self.layout is not None and self.strip_width is not None:
            problem = "Both a strip width and readings are given."
            remedy = "Give either strip_width, or clearance with readings by side."
            found += [
                Fault(path=path, problem=problem, remedy=remedy)
                for path in _readings_by_side(self.layout)
            ]
        if self.perimeter is not None and sum(self.zones.values()) > self.perimeter:
            problem = "The zones add up to more than the perimeter."
            remedy = "Reduce their lengths."
            found.append(Fault(path=("zones",), problem=problem, remedy=remedy))
        return found


def _exactly_one(given_members: Mapping[str, Any], first: str, second: str) -> list[Fault]:
    given = [name for name in (first, second) if given_members.get(name) is not None]
    if len(given) == 1:
        return []
    both = f"Both {first} and {second} are given.".replace("_", " ")
    problem = both if given else "This required field is missing."
    remedy = f"Give exactly one of {first} and {second}."
    return [Fault(path=(second if given else first,), problem=problem, remedy=remedy)]


def _readings_by_side(arrays: ArraysInput) -> list[Path]:
    """Return the paths of all readings given by side or by facing."""
    planes: list[tuple[Path, ArraysInput | PlaneInput]] = [((), arrays)]
    planes += [(("planes", at), plane) for at, plane in enumerate(arrays.planes)]
    return [
        ("layout", *path, *place, "clearance")
        for path, plane in planes
        for place, one in plane.by_side()
        if one.clearance is not None
    ]


class StripLength(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Mesh of one strip width in a layout."""

    strip_width: SectionDown
    """The strip width."""
    length: RunUp
    """Length of mesh as cut."""
    rolls: int
    """Number of rolls."""


class MaterialsResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The bill of materials, estimated from a perimeter or counted from a layout.

    `strip_width` is null, and there are no lines, if no stock strip is wide enough, even for only
    some sides of a layout. `advice` says what to do if none is snug. `strips` is present if a
    layout takes several strip widths: the mesh of each width, empty if there are no lines.
    """

    perimeter: RunUp
    """Length of the barrier."""
    strip_width: SectionDown | None
    """The strip; null if no stock width is wide enough."""
    advice: tuple[Advice, ...]
    """What to do if no stock strip is snug."""
    lines: tuple[Line, ...]
    """The lines of the bill; none without a strip."""
    tools: Tools
    """Tools for the job."""
    strips: tuple[StripLength, ...] | msgspec.UnsetType = msgspec.UNSET
    """The mesh of each strip width. Present only if a layout takes several."""


def materials(request: MaterialsRequest, rules: RuleSet) -> Computed:
    """Return the bill of materials. Raises InvalidRequestError with every fault of the request.

    If a layout is given, it is counted, and each line also has the quick estimate.
    """
    system = request.units or rules.units
    laid = None
    attachment = attached_to(request.roof_covering, request.racking, rules)
    if request.layout is not None:
        laid = lay(
            request.layout,
            request.clearance,
            request.roll_length,
            system,
            rules,
            attachment,
            ("layout",),
        )
        sizings = [strip.sizing for strip in laid.all_strips]
        perimeter, zones = laid.counts.perimeter_nm, laid.counts.zones_nm
    else:
        refuse([*roll_faults(request.roll_length, system, rules), *_zone_faults(request, rules)])
        readings = readings_nm(request.clearance)
        sizings = [size(Figure((readings,)), rules)] if readings else []
        perimeter = Figure(int(request.perimeter or 0))
        zones = {name: Figure(int(length)) for name, length in request.zones.items()}
    strip = rules.figure(lambda: _usual_width(sizings, request.strip_width))
    facts = {
        "joining": request.joining,
        "finish": request.finish,
        **roof_facts(request.roof_covering, request.racking, rules),
    }
    lines: Lines = {}
    if strip.value is not None:
        lines = _thumb_rule_lines(request, perimeter, zones, facts, rules)
        if laid is not None:
            lines = _counted_lines(laid, lines, facts, request.roll_length, rules)
    advice = rules.figure(
        lambda: tuple(dict.fromkeys(one for sizing in sizings for one in sizing.advice.value))
    )
    shown_perimeter = RunUp(rules.show("/perimeter", perimeter))
    width = rules.show("/strip_width", strip)
    shown_advice = rules.show("/advice", advice)
    rules.show("/lines", strip)  # there are none without a strip
    result = MaterialsResult(
        perimeter=shown_perimeter,
        strip_width=None if width is None else SectionDown(width),
        advice=shown_advice,
        lines=rules.show_each("/lines", lines.values()),
        tools=rules.show("/tools", rules.figure(lambda: tools_of(facts, rules))),
        strips=_by_width(laid, strip, rules) if laid else msgspec.UNSET,
    )
    return Computed(result=result, facts=facts)


def _usual_width(sizings: list[Sizing], given_nm: int | None) -> int | None:
    """Return the strip that was given or that most sides take [nm].

    None if some sides have no stock strip: a bill without them would look complete.
    """
    widths = [sizing.strip_nm.value for sizing in sizings]
    return None if None in widths else [*widths, given_nm][0]


def _thumb_rule_lines(
    request: MaterialsRequest,
    perimeter_nm: Figure[int],
    zones_nm: Mapping[str, Figure[int]],
    facts: Mapping[str, str],
    rules: RuleSet,
) -> Lines:
    """Return the lines of a quick estimate for a perimeter with parts of it in zones."""
    special = {name: length for name, length in zones_nm.items() if name != "standard"}
    if special:
        rest = rules.figure(
            lambda: perimeter_nm.value - sum(length.value for length in special.values())
        )
        special = {"standard": rest, **special}
    corners = rules.figure(
        lambda: rules.values.default_corners if request.corners is None else request.corners
    )
    drivers = quick_drivers(perimeter_nm, corners, Figure(request.penetrations), rules)
    needed = bill(drivers, facts, rules, zoned_of(special, rules))
    return lines_of(needed, request.roll_length, rules)


def _counted_lines(
    laid: JobLayout, thumb: Lines, facts: Mapping[str, str], roll_nm: int | None, rules: RuleSet
) -> Lines:
    """Return the lines counted from a layout, each with its quick estimate."""

    def line(item: str, counted: Figure[Line | None]) -> Line | None:
        found = counted.value
        if found is None:
            return None
        if found.quantity.measured:
            found = with_rolls(found, sum(len(each.plan.rolls) for each in laid.plans.value))
        estimated = thumb[item].value
        quantity = estimated.quantity if estimated else Amount(0, found.quantity.measured)
        return msgspec.structs.replace(found, thumb_rule=quantity)

    counted = lines_of(counted_bill(laid.counts, facts, rules), roll_nm, rules)
    return {item: rules.figure(partial(line, item, one)) for item, one in counted.items()}


def _by_width(
    laid: JobLayout, strip: Figure[int | None], rules: RuleSet
) -> tuple[StripLength, ...] | msgspec.UnsetType:
    """Return the mesh by strip width, if a layout takes several widths."""

    def compute() -> tuple[StripLength, ...] | msgspec.UnsetType:
        if len({one.sizing.strip_nm.value for one in laid.all_strips}) < 2:
            return msgspec.UNSET
        return tuple(map(_strip_length, laid.plans.value)) if strip.value is not None else ()

    found = rules.figure(compute)
    # if the member is absent, the result as a whole depends on what leaves it out
    return rules.show("" if found.value is msgspec.UNSET else "/strips", found)


def _strip_length(each: WidthPlan) -> StripLength:
    assert each.strip_nm is not None
    cut = sum(piece.length_nm for roll in each.plan.rolls for piece in roll.pieces)
    return StripLength(
        strip_width=SectionDown(each.strip_nm), length=RunUp(cut), rolls=len(each.plan.rolls)
    )


def _zone_faults(request: MaterialsRequest, rules: RuleSet) -> list[Fault]:
    """Return a fault for each zone that the rule set does not have."""
    problem = f"{rules.name} does not have this zone."
    return [
        Fault(path=("zones", name), problem=problem, remedy=unknown_name(name, list(rules.zones)))
        for name in request.zones
        if name not in rules.zones or name == "standard"
    ]
