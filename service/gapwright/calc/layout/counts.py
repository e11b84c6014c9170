"""The counts of a layout, the bill that they drive, and the plan by which rolls are cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any, Literal

import msgspec

from gapwright.calc.bill import Needed, bill, quick_drivers, zoned_of
from gapwright.calc.cutting import CutPlan, WantedPiece, cut_plan
from gapwright.calc.layout.lay import LaidPlane, LaidRun
from gapwright.calc.layout.strips import Strips
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet


class WidthPlan(msgspec.Struct, frozen=True, kw_only=True):
    """How the pieces of one width of strip [nm] are cut; None where no strip was sized."""

    strip_nm: int | None
    plan: CutPlan


class Counts(msgspec.Struct, frozen=True, kw_only=True):
    """Counts of a layout; lengths in nm. `cut_mesh_nm` is the sum of all cut lengths.

    `zones_nm` is how much of the perimeter lies in each zone.
    """

    perimeter_nm: Figure[int]
    zones_nm: Mapping[str, Figure[int]]
    cut_mesh_nm: Figure[int]
    pieces: Figure[int]
    overlaps: Figure[int]
    overlap_rings: Figure[int]
    overlap_ties: Figure[int]
    corners: Figure[int]
    tabs: Figure[int]
    returns: Figure[int]
    clips: Figure[int]
    unattached_nm: Mapping[str, Figure[int]]
    """Length by zone of the runs on rails that nothing attaches, since no rail is known there."""
    penetrations: Figure[int]

    def drivers(self, rules: RuleSet) -> dict[str, Figure[int]]:
        """Return what drives the counted needs of a bill."""
        return {
            **quick_drivers(self.perimeter_nm, self.corners, self.penetrations, rules),
            "cut_mesh": self.cut_mesh_nm,
            "pieces": self.pieces,
            "overlaps": self.overlaps,
            "overlap_rings": self.overlap_rings,
            "overlap_ties": self.overlap_ties,
            "tabs": self.tabs,
            "returns": self.returns,
            "clips": self.clips,
        }


def counts_of(planes: Sequence[LaidPlane], rules: RuleSet) -> Counts:
    """Return the counts of all planes together."""
    runs = [run for plane in planes for run in plane.runs]

    def count(
        step: Literal["outline", "tabs", "penetrations", "runs"],
        total: Callable[[], int],
    ) -> Figure[int]:
        """Return a total that follows from one step of each plane's layout."""

        def compute() -> int:
            depend_on(*(getattr(plane.steps, step) for plane in planes))
            return total()

        return rules.figure(compute)

    zones = _zones_nm(runs)
    unattached = [
        run
        for plane in planes
        for run in plane.runs
        if plane.plane.attachment.value == "rails" and not run.fixed
    ]
    return Counts(
        perimeter_nm=count("outline", lambda: sum(run.placed.run.length_nm for run in runs)),
        zones_nm={name: count("outline", partial(int, nm)) for name, nm in zones.items()},
        cut_mesh_nm=count("runs", lambda: sum(run.layout.mesh_nm for run in runs)),
        pieces=count("runs", lambda: sum(len(run.pieces) for run in runs)),
        overlaps=count("runs", lambda: sum(len(run.layout.overlaps) for run in runs)),
        overlap_rings=count(
            "runs", lambda: sum(_fasteners(run, rules, "rings_per_overlap") for run in runs)
        ),
        overlap_ties=count(
            "runs", lambda: sum(_fasteners(run, rules, "ties_per_overlap") for run in runs)
        ),
        corners=count("outline", lambda: sum(len(plane.corners) for plane in planes)),
        tabs=count("tabs", lambda: sum(len(run.placed.run.tabs_nm) for run in runs)),
        returns=count("runs", lambda: sum(len(run.layout.returns) for run in runs)),
        clips=rules.figure(lambda: sum(map(_clips, planes))),
        unattached_nm={
            name: count("runs", partial(int, nm)) for name, nm in _zones_nm(unattached).items()
        },
        penetrations=count(
            "penetrations", lambda: sum(len(run.placed.penetrations_nm) for run in runs)
        ),
    )


def _clips(plane: LaidPlane) -> int:
    """Return how many clips hold a plane's channel."""
    if plane.plane.attachment.value != "frame_clips":
        return 0
    return sum(len(run.clips_nm) for run in plane.steps.runs.value)


def _zones_nm(runs: Sequence[LaidRun]) -> dict[str, int]:
    zones: Counter[str] = Counter()
    for side in (side for run in runs for side in run.placed.sides):
        zones[side.zone] += side.length_nm
    return dict(zones)


def _fasteners(run: LaidRun, rules: RuleSet, value: str) -> int:
    """Return how many rings or ties the overlaps of a run take, each by its zone."""
    zones = [
        run.placed.sides[run.placed.side_at(overlap.end_nm)].zone for overlap in run.layout.overlaps
    ]
    return sum(getattr(rules.zones[zone].values, value) for zone in zones)


def plan_cuts(
    planes: Sequence[LaidPlane], roll_nm: int | None, rules: RuleSet, strips: Strips | None = None
) -> Figure[tuple[WidthPlan, ...]]:
    """Return the plans that cut all pieces from rolls of the usual length, or of the given one.

    There is one plan for each width of strip, that of the usual strip first; none for pieces of a
    strip that no stock width is wide enough for. Without `strips`, one goes all around.
    """

    def plans() -> tuple[WidthPlan, ...]:
        stock = roll_nm or mesh_roll_nm(rules)
        sized = strips.strips if strips else ()
        widths = {strip.name: strip.sizing.strip_nm.value for strip in sized}
        wanted: dict[int | None, list[WantedPiece]] = {width: [] for width in widths.values()}
        for plane in planes:
            depend_on(plane.steps.runs)  # the plan depends on all pieces
            for run in plane.runs:
                width = widths.get(run.strip)
                if width is not None or not widths:
                    wanted.setdefault(width, []).extend(
                        WantedPiece(
                            length_nm=piece.piece.cut_nm, label=f"{plane.plane.name}:{piece.name}"
                        )
                        for piece in run.pieces
                    )
        return tuple(
            WidthPlan(strip_nm=width, plan=cut_plan(pieces, stock))
            for width, pieces in wanted.items()
            if pieces
        )

    return rules.figure(plans)


def mesh_roll_nm(rules: RuleSet) -> int:
    """Return the usual length of a roll of mesh [nm]; a piece's length where none is sold."""
    packs = [item.pack for item in rules.bill if item.measured and item.pack]
    return packs[0].pack_size if packs else rules.values.piece_length


def counted_bill(counts: Counts, facts: Mapping[str, Any], rules: RuleSet) -> Needed:
    """Return the bill that counts drive; what the perimeter drives goes by zone, where they differ.

    `facts` are as for `bill`.
    """
    zones = (rules.zones[name] for name in counts.zones_nm)
    differ = any(zone.ratios or "waste_factor" in zone.changed for zone in zones)
    zoned = zoned_of(counts.zones_nm, rules) if differ else ()
    unattached = zoned_of(counts.unattached_nm, rules)
    return bill(counts.drivers(rules), facts, rules, zoned, counted=True, unattached=unattached)
