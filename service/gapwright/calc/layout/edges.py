"""The edges of an outline with what holds on each of them, loop by loop."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from gapwright.calc.layout.naming import edge_name, named_edges, named_loops
from gapwright.calc.layout.nearness import near_each
from gapwright.calc.layout.penetrations import Through, ends, penetrations_on
from gapwright.calc.layout.plane import EdgeFacts, Plane, Rail
from gapwright.calc.layout.strips import Strips, is_open
from gapwright.calc.layout.supports import Beside, Tab, beside, tabs_on
from gapwright.calc.outline import Edge, Loop, Outline
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet


class PlacedEdge(msgspec.Struct, frozen=True, kw_only=True):
    """An edge of a loop with its name, and what holds on it; places count from its start [nm]."""

    name: str
    edge: Edge
    hole: bool
    inside: bool
    """Whether the edge begins at an inside corner of the array."""
    open: bool
    zone: str
    strip: str
    """The name of the strip that goes here; empty where none was sized."""
    tabs: tuple[Tab, ...]
    reaches: tuple[Beside, ...]
    """Where a rail lies beside it, near enough for a return."""
    through: tuple[Through, ...]
    """The penetrations at it."""

    @property
    def penetrations_nm(self) -> tuple[int, ...]:
        """Return where penetrations go through the channel here."""
        return tuple(one.at_nm for one in self.through)


class PlacedLoop(msgspec.Struct, frozen=True, kw_only=True):
    """A loop with its name and its edges in order."""

    name: str
    edges: tuple[PlacedEdge, ...]

    def meetings(self) -> list[PlacedEdge]:
        """Return the edges that begin at a corner where the strip changes."""
        return [
            edge
            for at, edge in enumerate(self.edges)
            if not edge.open
            and not self.edges[at - 1].open
            and edge.strip != self.edges[at - 1].strip
        ]

    def shorter(self, least_nm: int) -> tuple[PlacedEdge, ...]:
        """Return the edges that are shorter than some length and not left open."""
        return tuple(e for e in self.edges if e.edge.length_nm < least_nm and not e.open)


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
    """Return the loops of a plane with all their edges.

    Errors: BadInputError where rails meet edges more often than can be looked at.
    """
    named = named_loops(outline.value)
    edges = [edge for _, loop in named for edge in loop.edges]
    reached = rules.figure(lambda: _rails_near(edges, rails.value, rules))
    near = reached.value  # a rail that crosses an edge is near whatever the reach
    around = _edges_near(edges, rules) if rails.value else [[] for _ in edges]
    open_edges = {
        at
        for at, (name, edge) in enumerate(named_edges(outline.value))
        if is_open(name, edge, plane)
    }

    def tabs() -> list[tuple[Tab, ...]]:
        depend_on(outline, rails)
        return [tabs_on(edge, near[at]) for at, edge in enumerate(edges)]

    def reaches() -> list[tuple[Beside, ...]]:
        depend_on(outline, rails, reached)
        return [
            tuple(beside(edge, near[at], around[at], rules.values)) for at, edge in enumerate(edges)
        ]

    def penetrations() -> dict[int, list[Through]]:
        depend_on(outline)
        return penetrations_on(edges, open_edges, plane, rules.values)

    found = PlacedLoops(
        loops=[],
        tabs=rules.figure(tabs),
        reaches=rules.figure(reaches),
        penetrations=rules.figure(penetrations),
    )
    first = 0
    for letter, loop in named:
        placed = [
            _placed(letter, edge, loop, plane, found, at, strips)
            for at, edge in enumerate(loop.edges, first)
        ]
        found.loops.append(PlacedLoop(name=letter, edges=tuple(placed)))
        first += len(placed)
    return found


def _rails_near(edges: Sequence[Edge], rails: Sequence[Rail], rules: RuleSet) -> list[list[Rail]]:
    """Return, for each edge, the rails that may cross it or lie within a return's reach."""
    reach = rules.values.return_reach
    spans = [(rail.start, rail.end) for rail in rails]
    found = near_each([ends(edge) for edge in edges], spans, reach, "rails")
    return [[rails[number] for number in numbers] for numbers in found]


def _edges_near(edges: Sequence[Edge], rules: RuleSet) -> list[list[Edge]]:
    """Return, for each edge, those that a return from it may come to."""
    spans = [ends(edge) for edge in edges]
    found = near_each(spans, spans, rules.values.return_reach, "array")
    return [[edges[number] for number in numbers] for numbers in found]


_UNTOLD = EdgeFacts()


def _placed(
    letter: str,
    edge: Edge,
    loop: Loop,
    plane: Plane,
    found: PlacedLoops,
    at: int,
    strips: Strips | None,
) -> PlacedEdge:
    name = edge_name(letter, edge, loop)
    own = plane.edges.get(name, _UNTOLD)
    facing = plane.facings.get(edge.facing, _UNTOLD)
    left_open = is_open(name, edge, plane)
    return PlacedEdge(
        name=name,
        edge=edge,
        hole=loop.kind == "hole",
        inside=loop.corners[edge.index].kind == "inside",
        open=left_open,
        zone=own.zone or facing.zone or "standard",
        strip=strips.at(name, edge.facing, plane).name if strips and not left_open else "",
        tabs=found.tabs.value[at],
        reaches=found.reaches.value[at],
        through=tuple(found.penetrations.value.get(at, ())),
    )
