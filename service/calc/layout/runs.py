"""From the loops of an outline to runs of channel, closed or between edges left open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from service.calc.layout.plane import EdgeFacts, Plane, Rail
from service.calc.layout.supports import beside, tabs_on
from service.calc.outline import Edge, Loop, Outline
from service.calc.pieces import KeepOff, Reach, Run, Zone
from service.rulesets.ruleset import RuleSet


class PlacedEdge(msgspec.Struct, frozen=True, kw_only=True):
    """An edge of a loop with its name, and what holds on it. `tabs_nm` count from its start."""

    name: str
    edge: Edge
    hole: bool
    inside: bool
    """Whether the edge begins at an inside corner of the array."""
    open: bool
    zone: str
    tabs_nm: tuple[int, ...]


class PlacedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run of channel with the edges that it follows, and where on it each of them begins."""

    name: str
    run: Run
    edges: tuple[PlacedEdge, ...]
    starts_nm: tuple[int, ...]
    penetrations_nm: tuple[int, ...]

    def edge_at(self, at_nm: int) -> int:
        """Return which of the run's edges a place on it lies on."""
        for number in range(len(self.edges) - 1, -1, -1):
            if at_nm >= self.starts_nm[number]:
                return number
        return 0


def runs_of(
    plane: Plane, outline: Outline, rails: Sequence[Rail], rules: RuleSet
) -> tuple[list[PlacedEdge], list[PlacedRun]]:
    """Return all edges of a plane, and the runs of channel that follow those not left open."""
    loops = [
        (letter, [_placed(letter, edge, loop, plane, rails) for edge in loop.edges])
        for letter, loop in _loops(outline)
    ]
    edges = [edge for _, placed in loops for edge in placed]
    through = _penetrations(edges, plane, rules)
    runs: list[PlacedRun] = []
    for letter, placed in loops:
        for number, (part, closed) in enumerate(_parts(placed), 1):
            name = letter if closed else f"{letter}/{number}"
            runs.append(_run(name, part, closed, through, rails, rules))
    return edges, runs


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


def _placed(letter: str, edge: Edge, loop: Loop, plane: Plane, rails: Sequence[Rail]) -> PlacedEdge:
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
    penetrations: Mapping[str, Sequence[int]],
    rails: Sequence[Rail],
    rules: RuleSet,
) -> PlacedRun:
    starts = [0]
    for placed in edges:
        starts.append(starts[-1] + placed.edge.length_nm)
    length = starts.pop()
    tabs = sorted({(s + t) % length for p, s in zip(edges, starts, strict=True) for t in p.tabs_nm})
    through = sorted(
        s + at for p, s in zip(edges, starts, strict=True) for at in penetrations.get(p.name, ())
    )
    corners = starts if closed else starts[1:]
    run = Run(
        length_nm=length,
        closed=closed,
        zones=_zones(edges, starts, length, rules),
        tabs_nm=tuple(tabs),
        reaches=_reaches(edges, starts, rails, rules),
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


def _reaches(
    edges: list[PlacedEdge], starts: list[int], rails: Sequence[Rail], rules: RuleSet
) -> tuple[Reach, ...]:
    return tuple(
        Reach(
            start_nm=start + part.start_nm,
            end_nm=start + part.end_nm,
            return_nm=part.return_nm,
        )
        for placed, start in zip(edges, starts, strict=True)
        for part in beside(placed.edge, rails, rules.values)
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


def _penetrations(edges: list[PlacedEdge], plane: Plane, rules: RuleSet) -> dict[str, list[int]]:
    """Return where penetrations stand, by edge [nm from its start].

    Each belongs to the edge of the whole plane that is nearest to it, if that is near enough.
    """
    found: dict[str, list[int]] = {}
    for spot in plane.penetrations:
        (away, at), _, placed = min(
            (_foot(placed.edge, spot), number, placed) for number, placed in enumerate(edges)
        )
        if away <= rules.values.penetration_reach:
            found.setdefault(placed.name, []).append(at)
    return found


def _foot(edge: Edge, spot: tuple[int, int]) -> tuple[int, int]:
    """Return how far a spot is from an edge, and where on the edge it is nearest [nm]."""
    ax, ay = edge.start.x_nm, edge.start.y_nm
    ux, uy = edge.end.x_nm - ax, edge.end.y_nm - ay
    part = ((spot[0] - ax) * ux + (spot[1] - ay) * uy) / (ux * ux + uy * uy)
    part = min(max(part, 0.0), 1.0)
    dx, dy = spot[0] - ax - part * ux, spot[1] - ay - part * uy
    return round((dx * dx + dy * dy) ** 0.5), round(part * edge.length_nm)
