"""From the loops of an outline to runs of channel, closed or between sides left open."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence

import msgspec

from gapwright.calc.layout.attachment import Direction, ReturnStretch, Tab, merged_tabs
from gapwright.calc.layout.sides import PlacedLoop, PlacedSide
from gapwright.calc.outline import Spot
from gapwright.calc.pieces import KeepOff, Reach, Return, Run, RunZone
from gapwright.rulesets.ruleset import RuleSet


class PlacedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run of channel with the sides that it follows, and where on it each of them begins."""

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


def runs_of(loops: Sequence[PlacedLoop], rules: RuleSet, *, on_rails: bool) -> list[PlacedRun]:
    """Return the runs of channel that follow the sides not left open."""
    return [_run(part, closed, rules, on_rails) for loop in loops for part, closed in _parts(loop)]


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


def _run(sides: list[PlacedSide], closed: bool, rules: RuleSet, on_rails: bool) -> PlacedRun:
    starts = [0]
    for side in sides:
        starts.append(starts[-1] + side.length_nm)
    length = starts.pop()
    crossed = [(s + t.at_nm, t) for p, s in zip(sides, starts, strict=True) for t in p.tabs]
    tabs = merged_tabs((at % length if closed else at, tab.upright) for at, tab in crossed)
    tabs_nm = tuple(tab.at_nm for tab in tabs)
    through = sorted(
        start + one.at_nm
        for side, start in zip(sides, starts, strict=True)
        for one in side.penetrations
    )
    corners = starts if closed else starts[1:]
    run = Run(
        length_nm=length,
        closed=closed,
        zones=_zones(sides, starts, length, rules, on_rails),
        tabs_nm=tabs_nm,
        reaches=_reaches(sides, starts, length, closed),
        keep_off=_keep_off(corners, tabs_nm, through, rules),
        starts_nm=tuple(at % length for at in _starts(sides, starts)) if closed else (),
    )
    return PlacedRun(
        run=run,
        sides=tuple(sides),
        starts_nm=tuple(starts),
        tabs=tabs,
        penetrations_nm=tuple(through),
    )


def _zones(
    sides: list[PlacedSide], starts: list[int], length: int, rules: RuleSet, on_rails: bool
) -> tuple[RunZone, ...]:
    """Return the overlap and the span along the run; neighbors alike are joined.

    A channel that is not fixed to rails has no limit of its span between them.
    """
    found: list[RunZone] = []
    for placed, start, end in zip(sides, starts, [*starts[1:], length], strict=True):
        values = rules.zones[placed.zone].values
        zone = RunZone(
            start_nm=start,
            end_nm=end,
            overlap_nm=values.overlap_length,
            span_nm=values.return_spacing if on_rails else None,
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
        for part in placed.returns
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
        if placed.facing in facings
        for tab in placed.tabs
    ]
    return tuple(dict.fromkeys(found or starts))


def place_on(placed: PlacedRun, at_nm: int) -> tuple[PlacedSide, Spot]:
    """Return the side on which a place of a run lies, and where it is on the plane [nm]."""
    at_nm = at_nm % placed.run.length_nm if placed.run.closed else at_nm
    number = placed.side_at(at_nm)
    side = placed.sides[number]
    return side, along(side, at_nm - placed.starts_nm[number])


def along(side: PlacedSide, at_nm: int) -> Spot:
    """Return where a place of a side is on the plane, counted from the side's start [nm]."""
    (x, y), (u, v) = side.start, side.end
    return x + (u - x) * at_nm // side.length_nm, y + (v - y) * at_nm // side.length_nm


def path_on(placed: PlacedRun, start_nm: int, covered_nm: int) -> list[Spot]:
    """Return the bends of a stretch of a run, from where it begins to where it ends [nm]."""
    corners = placed.passed(placed.starts_nm, start_nm, covered_nm)
    bends = [along_nm for along_nm, _ in corners if 0 < along_nm < covered_nm]
    return [place_on(placed, start_nm + at)[1] for at in (0, *bends, covered_nm)]


class PlacedReturn(msgspec.Struct, frozen=True, kw_only=True):
    """A return with its side, its bend and its foot on the roof plane, and its direction.

    `onward` is the direction in which the pieces are set, `back` the other.
    """

    made: Return
    side: PlacedSide
    bend: Spot
    foot: Spot
    direction: Direction


def place_return(placed: PlacedRun, made: Return) -> PlacedReturn:
    """Return where a return lies: away from its piece if it can, so that it need not fold back."""
    wanted = "back" if made.at_start else "onward"
    side, stretch = min(
        _stretches_at(placed, made),
        key=lambda found: (found[1].direction != wanted, found[1].away_nm),
    )
    bend = place_on(placed, made.at_nm)[1]
    dx, dy = side.end[0] - side.start[0], side.end[1] - side.start[1]
    leg, away = stretch.leg_nm, stretch.away_nm
    foot = (
        bend[0] + round((dx * leg - dy * away) / side.length_nm),
        bend[1] + round((dy * leg + dx * away) / side.length_nm),
    )
    return PlacedReturn(made=made, side=side, bend=bend, foot=foot, direction=stretch.direction)


def _stretches_at(placed: PlacedRun, made: Return) -> list[tuple[PlacedSide, ReturnStretch]]:
    """Return the stretches from which a return of that mesh can be made at its place.

    At a corner they are those of either side.
    """
    length = placed.run.length_nm
    return [
        (side, stretch)
        for side, start in zip(placed.sides, placed.starts_nm, strict=True)
        for at in {made.at_nm - start, made.at_nm - start + (length if placed.run.closed else 0)}
        for stretch in side.returns
        if stretch.return_nm == made.return_nm and stretch.start_nm <= at <= stretch.end_nm
    ]
