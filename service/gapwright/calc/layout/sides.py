"""The sides of an outline with the settings of each, loop by loop."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from gapwright.calc.layout.naming import named_loops, named_sides, side_names
from gapwright.calc.layout.nearness import near_each
from gapwright.calc.layout.penetrations import Through, ends, penetrations_on
from gapwright.calc.layout.plane import Plane, Rail, SideFacts
from gapwright.calc.layout.strips import Strips, is_open
from gapwright.calc.layout.supports import Beside, Tab, beside, tabs_on
from gapwright.calc.outline import Loop, Outline, Side
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet


class PlacedSide(msgspec.Struct, frozen=True, kw_only=True):
    """A side of a loop with its name and settings; places count from its start [nm]."""

    name: str
    side: Side
    hole: bool
    inside: bool
    """Whether the side begins at an inside corner of the array."""
    open: bool
    zone: str
    strip: str
    """The name of the strip that goes here; empty where none was sized."""
    tabs: tuple[Tab, ...]
    reaches: tuple[Beside, ...]
    """Where a rail lies next to it, near enough for a return."""
    through: tuple[Through, ...]
    """The penetrations at it."""

    @property
    def penetrations_nm(self) -> tuple[int, ...]:
        """Return where penetrations go through the channel here."""
        return tuple(one.at_nm for one in self.through)


class PlacedLoop(msgspec.Struct, frozen=True, kw_only=True):
    """A loop with its name and its sides in order."""

    name: str
    sides: tuple[PlacedSide, ...]

    def meetings(self) -> list[PlacedSide]:
        """Return the sides that begin at a corner where the strip changes."""
        return [
            side
            for at, side in enumerate(self.sides)
            if not side.open
            and not self.sides[at - 1].open
            and side.strip != self.sides[at - 1].strip
        ]

    def shorter(self, least_nm: int) -> tuple[PlacedSide, ...]:
        """Return the sides that are shorter than some length and not left open."""
        return tuple(e for e in self.sides if e.side.length_nm < least_nm and not e.open)


class PlacedLoops(msgspec.Struct, frozen=True, kw_only=True):
    """The loops of a plane, and the figures that tell which rules their parts follow from."""

    loops: list[PlacedLoop]
    tabs: Figure[list[tuple[Tab, ...]]]
    reaches: Figure[list[tuple[Beside, ...]]]
    penetrations: Figure[dict[int, list[Through]]]


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
    named = named_loops(outline.value)
    sides = [side for _, loop in named for side in loop.sides]
    reached = rules.figure(lambda: _rails_near(sides, rails.value, rules))
    near = reached.value  # a rail that crosses a side is near whatever the reach
    around = _sides_near(sides, rules) if rails.value else [[] for _ in sides]
    open_sides = {
        at
        for at, (name, side) in enumerate(named_sides(outline.value))
        if is_open(name, side, plane)
    }

    def tabs() -> list[tuple[Tab, ...]]:
        depend_on(outline, rails)
        return [tabs_on(side, near[at]) for at, side in enumerate(sides)]

    def reaches() -> list[tuple[Beside, ...]]:
        depend_on(outline, rails, reached)
        return [
            tuple(beside(side, near[at], around[at], rules.values)) for at, side in enumerate(sides)
        ]

    def penetrations() -> dict[int, list[Through]]:
        depend_on(outline)
        return penetrations_on(sides, open_sides, plane, rules.values)

    found = PlacedLoops(
        loops=[],
        tabs=rules.figure(tabs),
        reaches=rules.figure(reaches),
        penetrations=rules.figure(penetrations),
    )
    first = 0
    for loop_name, loop in named:
        placed = [
            _placed(name, side, loop, plane, found, first + side.index, strips)
            for name, side in zip(side_names(loop_name, loop), loop.sides, strict=True)
        ]
        found.loops.append(PlacedLoop(name=loop_name, sides=tuple(placed)))
        first += len(placed)
    return found


def _rails_near(sides: Sequence[Side], rails: Sequence[Rail], rules: RuleSet) -> list[list[Rail]]:
    """Return, for each side, the rails that may cross it or lie within a return's reach."""
    reach = rules.values.max_return_reach
    spans = [(rail.start, rail.end) for rail in rails]
    found = near_each([ends(side) for side in sides], spans, reach, "rails")
    return [[rails[number] for number in numbers] for numbers in found]


def _sides_near(sides: Sequence[Side], rules: RuleSet) -> list[list[Side]]:
    """Return, for each side, those that a return from it may reach."""
    spans = [ends(side) for side in sides]
    found = near_each(spans, spans, rules.values.max_return_reach, "array")
    return [[sides[number] for number in numbers] for numbers in found]


_UNTOLD = SideFacts()


def _placed(
    name: str,
    side: Side,
    loop: Loop,
    plane: Plane,
    found: PlacedLoops,
    at: int,
    strips: Strips | None,
) -> PlacedSide:
    own = plane.sides.get(name, _UNTOLD)
    facing = plane.facings.get(side.facing, _UNTOLD)
    left_open = is_open(name, side, plane)
    return PlacedSide(
        name=name,
        side=side,
        hole=loop.kind == "hole",
        inside=loop.corners[side.index].kind == "inside",
        open=left_open,
        zone=own.zone or facing.zone or "standard",
        strip=strips.at(name, side.facing, plane).name if strips and not left_open else "",
        tabs=found.tabs.value[at],
        reaches=found.reaches.value[at],
        through=tuple(found.penetrations.value.get(at, ())),
    )
