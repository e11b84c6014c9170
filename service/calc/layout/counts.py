"""What a layout comes to: counts, the bill that they drive, and the plan by which rolls are cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from service.calc.bill import Bill, bill, quick_drivers, zoned_of
from service.calc.layout.lay import LaidPlane, LaidRun
from service.calc.layout.strips import Strips
from service.calc.rolls import CutPlan, WantedPiece, cut_plan
from service.rulesets.ruleset import RuleSet


class Counts(msgspec.Struct, frozen=True, kw_only=True):
    """Counts of a layout; lengths in nm. `cut_mesh_nm` is the sum of all cut lengths.

    `zones_nm` is how much of the perimeter lies in each zone.
    """

    perimeter_nm: int
    zones_nm: Mapping[str, int]
    cut_mesh_nm: int
    pieces: int
    laps: int
    lap_rings: int
    lap_ties: int
    corners: int
    tabs: int
    returns: int
    penetrations: int
    rolls: int


def counts_of(planes: Sequence[LaidPlane], plans: Sequence[WidthPlan], rules: RuleSet) -> Counts:
    """Return the counts of all planes together."""
    runs = [run for plane in planes for run in plane.runs]
    return Counts(
        perimeter_nm=sum(run.placed.run.length_nm for run in runs),
        zones_nm=_zones_nm(runs),
        cut_mesh_nm=sum(piece.cut_nm for run in runs for piece in run.layout.pieces),
        pieces=sum(len(run.pieces) for run in runs),
        laps=sum(len(run.layout.laps) for run in runs),
        lap_rings=sum(_bound(run, rules, "lap_rings") for run in runs),
        lap_ties=sum(_bound(run, rules, "lap_ties") for run in runs),
        corners=sum(len(plane.corners) for plane in planes),
        tabs=sum(len(run.placed.run.tabs_nm) for run in runs),
        returns=sum(len(run.layout.returns) for run in runs),
        penetrations=sum(len(run.placed.penetrations_nm) for run in runs),
        rolls=sum(len(each.plan.rolls) for each in plans),
    )


def _zones_nm(runs: Sequence[LaidRun]) -> dict[str, int]:
    zones: Counter[str] = Counter()
    for placed in (placed for run in runs for placed in run.placed.edges):
        zones[placed.zone] += placed.edge.length_nm
    return dict(zones)


def _bound(run: LaidRun, rules: RuleSet, value: str) -> int:
    """Return how many rings or ties all laps of a run take, each by the zone that it lies in."""
    zones = [run.placed.edges[run.placed.edge_at(lap.end_nm)].zone for lap in run.layout.laps]
    return sum(getattr(rules.zones[zone].values, value) for zone in zones)


class WidthPlan(msgspec.Struct, frozen=True, kw_only=True):
    """How the pieces of one width of strip [nm] are cut; None where it was not told."""

    strip_nm: int | None
    plan: CutPlan


def plan_cuts(
    planes: Sequence[LaidPlane],
    roll_nm: int | None,
    rules: RuleSet,
    strips: Strips | None = None,
) -> tuple[WidthPlan, ...]:
    """Return the plans that cut all pieces from rolls of the usual length, or of the given one.

    There is one plan for each width of strip, that of the usual strip first; none for pieces of a
    strip that no stocked one is wide enough for. Without `strips`, one goes all round.
    """
    stock = roll_nm or mesh_roll_nm(rules)
    widths = {strip.name: strip.sizing.strip_nm for strip in strips.strips} if strips else {}
    unfitted = {name for name, width in widths.items() if width is None}
    wanted: dict[int | None, list[WantedPiece]] = {width: [] for width in widths.values()}
    for plane in planes:
        for run in (run for run in plane.runs if run.strip not in unfitted):
            pieces = wanted.setdefault(widths.get(run.strip), [])
            pieces += [
                WantedPiece(length_nm=piece.piece.cut_nm, label=f"{plane.plane.name}:{piece.name}")
                for piece in run.pieces
            ]
    return tuple(
        WidthPlan(strip_nm=width, plan=cut_plan(pieces, stock))
        for width, pieces in wanted.items()
        if pieces
    )


def mesh_roll_nm(rules: RuleSet) -> int:
    """Return the usual length of a roll of mesh [nm]; a piece's length where none is told."""
    packs = [item.pack for item in rules.bill if item.measured and item.pack]
    return packs[0].holds if packs else rules.values.piece_length


def drivers_of(counts: Counts, rules: RuleSet) -> dict[str, int]:
    """Return what drives the counted needs of a bill."""
    quick = quick_drivers(counts.perimeter_nm, counts.corners, counts.penetrations, rules.values)
    return {
        **quick,
        "perimeter": counts.perimeter_nm,
        "cut_mesh": counts.cut_mesh_nm,
        "pieces": counts.pieces,
        "laps": counts.laps,
        "lap_rings": counts.lap_rings,
        "lap_ties": counts.lap_ties,
        "corners": counts.corners,
        "tabs": counts.tabs,
        "returns": counts.returns,
        "penetrations": counts.penetrations,
    }


def counted_bill(
    counts: Counts,
    facts: Mapping[str, Any],
    roll_nm: int | None,
    rules: RuleSet,
    assumed: tuple[tuple[str, str], ...] = (),
) -> Bill:
    """Return the bill that counts drive; what the perimeter drives goes by zone, where they differ.

    `facts`, `roll_nm` and `assumed` are as for `bill`.
    """
    zones = (rules.zones[name] for name in counts.zones_nm)
    differ = any(zone.ratios or "mesh_allowance" in zone.changed for zone in zones)
    zoned = zoned_of(counts.zones_nm, rules) if differ else ()
    drivers = drivers_of(counts, rules)
    return bill(drivers, facts, roll_nm, rules, zoned, counted=True, assumed=assumed)
