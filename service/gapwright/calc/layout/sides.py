"""The sides of an outline with the settings of each, and what crosses or passes through them."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from gapwright.calc.layout.attachment import ReturnStretch, Tab, return_stretches, tabs_on
from gapwright.calc.layout.plane import Plane, Rail, SideFacts
from gapwright.calc.layout.strips import Strips, is_open
from gapwright.calc.outline import Outline, Side, Spot, near_each
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet


class Penetration(msgspec.Struct, frozen=True, kw_only=True):
    """A penetration at a side: its number on the plane, and where it is [nm from the start]."""

    number: int
    at_nm: int


class PlacedSide(Side, frozen=True, kw_only=True):
    """A side with its settings; places count from its start [nm].

    `strip` is the name of the strip that goes here, empty where none was sized. `returns` are where
    a rail lies next to the side, near enough for a return.
    """

    open: bool
    zone: str
    strip: str
    tabs: tuple[Tab, ...]
    returns: tuple[ReturnStretch, ...]
    penetrations: tuple[Penetration, ...]


PlacedLoop = tuple[PlacedSide, ...]


class PlacedLoops(msgspec.Struct, frozen=True, kw_only=True):
    """The loops of a plane, and the figures that tell which rules their parts follow from."""

    loops: list[PlacedLoop] = []
    tabs: Figure[list[tuple[Tab, ...]]]
    returns: Figure[list[tuple[ReturnStretch, ...]]]
    penetrations: Figure[dict[int, list[Penetration]]]


def loops_of(
    plane: Plane,
    outline: Figure[Outline],
    rails: Figure[tuple[Rail, ...]],
    rules: RuleSet,
    strips: Strips | None,
) -> PlacedLoops:
    """Return the loops of a plane with all their sides.

    Errors: InvalidRequestError where rails meet sides more often than can be looked at.
    """
    sides = outline.value.sides
    spans = [(side.start, side.end) for side in sides]

    def rails_near() -> list[list[Rail]]:
        ends = [(rail.start, rail.end) for rail in rails.value]
        found = near_each(spans, ends, rules.values.max_return_reach, "rails")
        return [[rails.value[number] for number in numbers] for numbers in found]

    reached = rules.figure(rails_near)
    near = reached.value  # tabs do not follow from the reach: a rail that crosses is always near
    around: list[list[int]] = [[] for _ in sides]
    if rails.value:
        around = near_each(spans, spans, rules.values.max_return_reach, "array")

    def tabs() -> list[tuple[Tab, ...]]:
        depend_on(outline, rails)
        return [tabs_on(side, near[at]) for at, side in enumerate(sides)]

    def returns() -> list[tuple[ReturnStretch, ...]]:
        depend_on(outline, rails, reached)
        return [
            return_stretches(side, near[at], [sides[n] for n in around[at]], rules.values)
            for at, side in enumerate(sides)
        ]

    def penetrations() -> dict[int, list[Penetration]]:
        depend_on(outline)
        return _penetrations(sides, spans, plane, rules)

    found = PlacedLoops(
        tabs=rules.figure(tabs),
        returns=rules.figure(returns),
        penetrations=rules.figure(penetrations),
    )
    at = 0
    for loop in outline.value.loops:
        numbered = enumerate(loop.sides, at)
        found.loops.append(tuple(_placed(side, plane, strips, found, n) for n, side in numbered))
        at += len(loop.sides)
    return found


def _placed(
    side: Side,
    plane: Plane,
    strips: Strips | None,
    found: PlacedLoops,
    at: int,
) -> PlacedSide:
    own = plane.sides.get(side.name, SideFacts())
    facing = plane.facings.get(side.facing, SideFacts())
    left_open = is_open(side, plane)
    return PlacedSide(
        **msgspec.structs.asdict(side),
        open=left_open,
        zone=own.zone or facing.zone or "standard",
        strip=strips.at(side, plane).name if strips and not left_open else "",
        tabs=found.tabs.value[at],
        returns=found.returns.value[at],
        penetrations=tuple(found.penetrations.value.get(at, ())),
    )


def _penetrations(
    sides: Sequence[Side], spans: Sequence[tuple[Spot, Spot]], plane: Plane, rules: RuleSet
) -> dict[int, list[Penetration]]:
    """Return the penetrations at each side, by the number of the side.

    Each belongs to the side of the whole plane that is nearest to it, if that is near enough; at a
    corner rather to a side with a channel than to one left open.
    """
    found: dict[int, list[Penetration]] = {}
    if not plane.penetrations:
        return found
    distance = rules.values.penetration_distance
    spots = [(spot, spot) for spot in plane.penetrations]
    around = near_each(spots, spans, distance, "array")
    for number, (spot, near) in enumerate(zip(plane.penetrations, around, strict=True)):
        nearest = []
        for at in near:
            away, along = _nearest(sides[at], spot)
            nearest.append((away, is_open(sides[at], plane), along, at))
        if nearest and min(nearest)[0] <= distance:
            *_, along, at = min(nearest)
            found.setdefault(at, []).append(Penetration(number=number, at_nm=along))
    return found


def _nearest(side: Side, spot: Spot) -> tuple[int, int]:
    """Return how far a spot is from a side, and where on the side it is nearest [nm]."""
    (ax, ay), (bx, by) = side.start, side.end
    ux, uy = bx - ax, by - ay
    part = ((spot[0] - ax) * ux + (spot[1] - ay) * uy) / (ux * ux + uy * uy)
    part = min(max(part, 0.0), 1.0)
    dx, dy = spot[0] - ax - part * ux, spot[1] - ay - part * uy
    return round((dx * dx + dy * dy) ** 0.5), round(part * side.length_nm)
