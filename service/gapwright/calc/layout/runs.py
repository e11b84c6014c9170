"""From the loops of an outline to runs of channel, closed or between sides left open."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence

import msgspec

from gapwright.calc.layout.sides import PlacedLoop, PlacedSide
from gapwright.calc.layout.supports import Tab, once
from gapwright.calc.pieces import KeepOff, Reach, Run, Zone
from gapwright.rulesets.ruleset import RuleSet


class PlacedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run of channel with the sides that it follows, and where on it each of them begins.

    `loop` is the name of its loop.
    """

    loop: str
    run: Run
    sides: tuple[PlacedSide, ...]
    starts_nm: tuple[int, ...]
    tabs: tuple[Tab, ...]
    """The tabs at their places along the run."""
    penetrations_nm: tuple[int, ...]

    def side_at(self, at_nm: int) -> int:
        """Return which of the run's sides a place on it lies on."""
        return max(bisect_right(self.starts_nm, at_nm) - 1, 0)

    def tabs_by_side(self) -> Iterator[tuple[PlacedSide, Tab]]:
        """Yield each tab once, at its place from the start of its side.

        One at a corner belongs to the side that begins there.
        """
        for tab in self.tabs:
            number = self.side_at(tab.at_nm)
            along = tab.at_nm - self.starts_nm[number]
            yield self.sides[number], Tab(at_nm=along, upright=tab.upright)

    def passed(
        self, places_nm: Sequence[int], start_nm: int, covered_nm: int
    ) -> list[tuple[int, int]]:
        """Return which of some places, in order along the run, a stretch passes or touches.

        Each is its distance along the stretch [nm], and its number among the places;
        twice where the stretch goes around a whole loop and overlaps itself there.
        """
        end, length = start_nm + covered_nm, self.run.length_nm
        found = []
        # one more time around before the first, for places at the end of a loop
        for rotation in (
            range(start_nm // length - 1, end // length + 1) if self.run.closed else (0,)
        ):
            shift = rotation * length
            first = bisect_left(places_nm, start_nm - shift)
            for number in range(first, bisect_right(places_nm, end - shift)):
                found.append((places_nm[number] + shift - start_nm, number))
        return sorted(found)


def runs_of(loops: Sequence[PlacedLoop], rules: RuleSet) -> list[PlacedRun]:
    """Return the runs of channel that follow the sides not left open."""
    return [
        _run(loop.name, part, closed, rules)
        for loop in loops
        for part, closed in _parts(loop.sides)
    ]


def _parts(placed: Sequence[PlacedSide]) -> list[tuple[list[PlacedSide], bool]]:
    """Return the stretches of a loop: between sides left open, and between strips.

    A loop with neither is one closed run.
    """
    opens = [at for at, side in enumerate(placed) if side.open]
    breaks = [at for at, side in enumerate(placed) if side.strip != placed[at - 1].strip]
    if not opens and not breaks:
        return [(list(placed), True)]
    first = opens[0] + 1 if opens else breaks[0]
    parts: list[list[PlacedSide]] = [[]]
    for side in (*placed[first:], *placed[:first]):
        if side.open or (parts[-1] and parts[-1][-1].strip != side.strip):
            parts.append([])
        if not side.open:
            parts[-1].append(side)
    return [(part, False) for part in parts if part]


def _run(
    loop: str,
    sides: list[PlacedSide],
    closed: bool,
    rules: RuleSet,
) -> PlacedRun:
    starts = [0]
    for placed in sides:
        starts.append(starts[-1] + placed.side.length_nm)
    length = starts.pop()
    crossed = [(s + t.at_nm, t) for p, s in zip(sides, starts, strict=True) for t in p.tabs]
    tabs = once((at % length if closed else at, tab.upright) for at, tab in crossed)
    tabs_nm = tuple(tab.at_nm for tab in tabs)
    through = sorted(s + at for p, s in zip(sides, starts, strict=True) for at in p.penetrations_nm)
    corners = starts if closed else starts[1:]
    run = Run(
        length_nm=length,
        closed=closed,
        zones=_zones(sides, starts, length, rules),
        tabs_nm=tabs_nm,
        reaches=_reaches(sides, starts, length, closed),
        keep_off=_keep_off(corners, tabs_nm, through, rules),
        starts_nm=tuple(at % length for at in _starts(sides, starts)) if closed else (),
    )
    return PlacedRun(
        loop=loop,
        run=run,
        sides=tuple(sides),
        starts_nm=tuple(starts),
        tabs=tabs,
        penetrations_nm=tuple(through),
    )


def _zones(
    sides: list[PlacedSide], starts: list[int], length: int, rules: RuleSet
) -> tuple[Zone, ...]:
    """Return the overlap and the span along the run; neighbors alike are joined."""
    found: list[Zone] = []
    for placed, start, end in zip(sides, starts, [*starts[1:], length], strict=True):
        values = rules.zones[placed.zone].values
        zone = Zone(
            start_nm=start,
            end_nm=end,
            overlap_nm=values.overlap_length,
            span_nm=values.return_spacing,
        )
        last = found[-1] if found else None
        if last and (last.overlap_nm, last.span_nm) == (zone.overlap_nm, zone.span_nm):
            found[-1] = msgspec.structs.replace(last, end_nm=end)
        else:
            found.append(zone)
    return tuple(found)


def _reaches(
    sides: list[PlacedSide], starts: list[int], length: int, closed: bool
) -> tuple[Reach, ...]:
    """Return where returns can be made; a place at the end of a loop is the one at its start."""
    rotation = length if closed else length + 1
    return tuple(
        Reach(
            start_nm=(start + part.start_nm) % rotation,
            end_nm=(start + part.start_nm) % rotation + part.end_nm - part.start_nm,
            return_nm=part.return_nm,
        )
        for placed, start in zip(sides, starts, strict=True)
        for part in placed.reaches
    )


def _keep_off(
    corners: Sequence[int], tabs: Sequence[int], through: Sequence[int], rules: RuleSet
) -> tuple[KeepOff, ...]:
    values = rules.values
    return (
        *(KeepOff(at_nm=at, distance_nm=values.overlap_setback_corner) for at in corners),
        *(KeepOff(at_nm=at, distance_nm=values.overlap_setback_tab) for at in tabs),
        *(KeepOff(at_nm=at, distance_nm=values.overlap_setback_penetration) for at in through),
    )


def _starts(sides: list[PlacedSide], starts: list[int]) -> tuple[int, ...]:
    """Return where a closed run may start, in the order in which that is tried.

    A crew starts where a rail sticks out at a side, then where one does at the eave or the ridge,
    each going around from the run's origin; where no rail does, at a corner.
    """
    found = [
        start + tab.at_nm
        for facings in (("left", "right"), ("eave", "ridge"))
        for placed, start in zip(sides, starts, strict=True)
        if placed.side.facing in facings
        for tab in placed.tabs
    ]
    return tuple(dict.fromkeys(found or starts))
