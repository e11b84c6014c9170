"""From the loops of an outline to runs of channel, closed or between edges left open."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

import msgspec

from service.calc.layout.nearness import near_each
from service.calc.layout.penetrations import ends, penetrations_on
from service.calc.layout.plane import EdgeFacts, Plane, Rail
from service.calc.layout.supports import Beside, beside, tabs_on
from service.calc.outline import Edge, Loop, Outline
from service.calc.pieces import KeepOff, Reach, Run, Zone
from service.rulesets.ruleset import RuleSet


class PlacedEdge(msgspec.Struct, frozen=True, kw_only=True):
    """An edge of a loop with its name, and what holds on it; places count from its start [nm]."""

    name: str
    edge: Edge
    hole: bool
    inside: bool
    """Whether the edge begins at an inside corner of the array."""
    open: bool
    zone: str
    tabs_nm: tuple[int, ...]
    reaches: tuple[Beside, ...]
    """Where a rail lies beside it, near enough for a return."""
    penetrations_nm: tuple[int, ...]


class PlacedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run of channel with the edges that it follows, and where on it each of them begins."""

    name: str
    run: Run
    edges: tuple[PlacedEdge, ...]
    starts_nm: tuple[int, ...]
    penetrations_nm: tuple[int, ...]

    def edge_at(self, at_nm: int) -> int:
        """Return which of the run's edges a place on it lies on."""
        return max(bisect_right(self.starts_nm, at_nm) - 1, 0)

    def passed(
        self, places_nm: Sequence[int], start_nm: int, covered_nm: int, *, backward: bool
    ) -> list[tuple[int, int]]:
        """Return which of some places, in order along the run, a stretch passes or touches.

        Each is told as how far along the stretch it comes [nm], and its number among the places.
        """
        low = start_nm - covered_nm if backward else start_nm
        turns = (-1, 0, 1) if self.run.closed else (0,)
        found = set()
        for turn in turns:
            shift = turn * self.run.length_nm
            first = bisect_left(places_nm, low - shift)
            for number in range(first, bisect_right(places_nm, low + covered_nm - shift)):
                at = places_nm[number] + shift
                along = start_nm - at if backward else at - start_nm
                found.add((along % self.run.length_nm if self.run.closed else along, number))
        return sorted(found)


def runs_of(
    plane: Plane, outline: Outline, rails: Sequence[Rail], rules: RuleSet
) -> tuple[list[PlacedEdge], list[PlacedRun]]:
    """Return all edges of a plane, and the runs of channel that follow those not left open.

    Errors: BadInputError where rails meet edges more often than can be looked at.
    """
    loops = _loops(outline)
    ways = [edge for _, loop in loops for edge in loop.edges]
    near = _rails_near(ways, rails, rules)
    through = penetrations_on(ways, plane, rules.values)
    edges: list[PlacedEdge] = []
    runs: list[PlacedRun] = []
    for letter, loop in loops:
        first = len(edges)
        edges += [
            _placed(letter, edge, loop, plane, near[at], through.get(at, ()), rules)
            for at, edge in enumerate(loop.edges, first)
        ]
        for number, (part, closed) in enumerate(_parts(edges[first:]), 1):
            runs.append(_run(letter if closed else f"{letter}/{number}", part, closed, rules))
    return edges, runs


def _rails_near(edges: Sequence[Edge], rails: Sequence[Rail], rules: RuleSet) -> list[list[Rail]]:
    """Return, for each edge, the rails that may cross it or lie within a return's reach."""
    reach = rules.values.return_reach
    spans = [(rail.start, rail.end) for rail in rails]
    found = near_each([ends(edge) for edge in edges], spans, reach, "rails")
    return [[rails[number] for number in numbers] for numbers in found]


def _loops(outline: Outline) -> list[tuple[str, Loop]]:
    """Return each loop with a letter: A, B, ... for arrays, and A-hole-1 for their holes."""
    named = []
    for array in outline.arrays:
        letter = _letter(array.index)
        named.append((letter, array.outer))
        named += [(f"{letter}-hole-{n}", hole) for n, hole in enumerate(array.holes, 1)]
    return named


def _letter(index: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name


def _placed(
    letter: str,
    edge: Edge,
    loop: Loop,
    plane: Plane,
    rails: Sequence[Rail],
    through: Sequence[int],
    rules: RuleSet,
) -> PlacedEdge:
    name = f"{letter}{edge.index + 1}" if loop.kind == "outer" else f"{letter}-{edge.index + 1}"
    own = plane.edges.get(name, EdgeFacts())
    facing = plane.facings.get(edge.facing, EdgeFacts())
    return PlacedEdge(
        name=name,
        edge=edge,
        hole=loop.kind == "hole",
        inside=loop.corners[edge.index].kind == "inside",
        open=bool(facing.open if own.open is None else own.open),
        zone=own.zone or facing.zone or "standard",
        tabs_nm=tuple(tabs_on(edge, rails)),
        reaches=tuple(beside(edge, rails, rules.values)),
        penetrations_nm=tuple(through),
    )


def _parts(placed: list[PlacedEdge]) -> list[tuple[list[PlacedEdge], bool]]:
    """Return the stretches of a loop between its open edges; one closed run where none is open."""
    opens = [at for at, edge in enumerate(placed) if edge.open]
    if not opens:
        return [(placed, True)]
    turned = placed[opens[0] + 1 :] + placed[: opens[0] + 1]
    parts: list[list[PlacedEdge]] = [[]]
    for edge in turned:
        if edge.open:
            parts.append([])
        else:
            parts[-1].append(edge)
    return [(part, False) for part in parts if part]


def _run(
    name: str,
    edges: list[PlacedEdge],
    closed: bool,
    rules: RuleSet,
) -> PlacedRun:
    starts = [0]
    for placed in edges:
        starts.append(starts[-1] + placed.edge.length_nm)
    length = starts.pop()
    crossed = {s + t for p, s in zip(edges, starts, strict=True) for t in p.tabs_nm}
    tabs = sorted({at % length for at in crossed} if closed else crossed)
    through = sorted(s + at for p, s in zip(edges, starts, strict=True) for at in p.penetrations_nm)
    corners = starts if closed else starts[1:]
    run = Run(
        length_nm=length,
        closed=closed,
        zones=_zones(edges, starts, length, rules),
        tabs_nm=tuple(tabs),
        reaches=_reaches(edges, starts),
        keep_off=_keep_off(corners, tabs, through, rules),
        start_nm=_start(edges, starts),
    )
    return PlacedRun(
        name=name,
        run=run,
        edges=tuple(edges),
        starts_nm=tuple(starts),
        penetrations_nm=tuple(through),
    )


def _zones(
    edges: list[PlacedEdge], starts: list[int], length: int, rules: RuleSet
) -> tuple[Zone, ...]:
    """Return the lap and the span along the run; neighbours alike are joined."""
    found: list[Zone] = []
    for placed, start, end in zip(edges, starts, [*starts[1:], length], strict=True):
        values = rules.zones[placed.zone].values
        zone = Zone(start_nm=start, end_nm=end, lap_nm=values.lap, span_nm=values.longest_span)
        last = found[-1] if found else None
        if last and (last.lap_nm, last.span_nm) == (zone.lap_nm, zone.span_nm):
            found[-1] = msgspec.structs.replace(last, end_nm=end)
        else:
            found.append(zone)
    return tuple(found)


def _reaches(edges: list[PlacedEdge], starts: list[int]) -> tuple[Reach, ...]:
    return tuple(
        Reach(
            start_nm=start + part.start_nm,
            end_nm=start + part.end_nm,
            return_nm=part.return_nm,
        )
        for placed, start in zip(edges, starts, strict=True)
        for part in placed.reaches
    )


def _keep_off(
    corners: Sequence[int], tabs: Sequence[int], through: Sequence[int], rules: RuleSet
) -> tuple[KeepOff, ...]:
    values = rules.values
    return (
        *(KeepOff(at_nm=at, distance_nm=values.lap_off_corner) for at in corners),
        *(KeepOff(at_nm=at, distance_nm=values.lap_off_tab) for at in tabs),
        *(KeepOff(at_nm=at, distance_nm=values.lap_off_penetration) for at in through),
    )


def _start(edges: list[PlacedEdge], starts: list[int]) -> int:
    """Return where the work starts: where a rail sticks out at a side, else at any rail, else 0."""
    for sides in (("left", "right"), ("eave", "ridge")):
        for placed, start in zip(edges, starts, strict=True):
            if placed.edge.facing in sides and placed.tabs_nm:
                return start + placed.tabs_nm[0]
    return 0
