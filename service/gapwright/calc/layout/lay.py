"""Lay a plane out: outline, rails, runs, pieces, and what a crew marks on the tape."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

import msgspec

from gapwright.calc.layout.clips import ClipRules, clips_on
from gapwright.calc.layout.marks import Mark, marks_of
from gapwright.calc.layout.plane import Plane, Rail
from gapwright.calc.layout.rails import rails_of
from gapwright.calc.layout.runs import PlacedReturn, PlacedRun, place_return, runs_of
from gapwright.calc.layout.sides import PlacedLoop, PlacedSide, loops_of
from gapwright.calc.layout.strips import Strips
from gapwright.calc.outline import GapRules, Outline, outline_of
from gapwright.calc.pieces import (
    Piece,
    PieceLayout,
    PieceRules,
    Run,
    lay_pieces,
    longest_overlap_nm,
)
from gapwright.errors import Fault, InvalidRequestError
from gapwright.quantity.show import NM_PER_IN
from gapwright.quantity.whole import whole
from gapwright.rulesets.figures import Figure, depend_on
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.values import Values

_CLIP_MARK_NM = NM_PER_IN // 16
_LEVEL = 4
"""Modules out of line by up to this fraction of the cut increment count as in line."""
MOST_PLACES = 40_000
"""Places where a piece may end, on all runs that differ: some 3,000 ft of channel cut on inches,
which take a second or two; 20,000 modules in one array have 31,000."""


class NamedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece with its name, where it lies on its run, and its marks along the tape.

    The pieces of array A are A1, A2, and so on: around the array, then around its holes.
    """

    name: str
    piece: Piece
    marks: tuple[Mark, ...]


class LaidRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run of channel with its pieces."""

    placed: PlacedRun
    layout: PieceLayout
    pieces: tuple[NamedPiece, ...]
    returns: tuple[PlacedReturn, ...]
    clips_nm: tuple[int, ...]
    """Where frame clips hold it, along the run."""

    @property
    def fixed(self) -> bool:
        """Return whether anything attaches the run to the array."""
        return bool(self.placed.tabs or self.returns or self.clips_nm)

    @property
    def strip(self) -> str:
        """Return the name of the run's strip, the same on all its sides."""
        return self.placed.sides[0].strip


class LayoutSteps(msgspec.Struct, frozen=True, kw_only=True):
    """The steps of a plane's layout as figures: each knows which rules it follows from."""

    outline: Figure[Outline]
    corners: Figure[None]
    tabs: Figure[Any]
    penetrations: Figure[Any]
    runs: Figure[tuple[LaidRun, ...]]


class LaidPlane(msgspec.Struct, frozen=True, kw_only=True):
    """One roof plane, laid out."""

    plane: Plane
    outline: Outline
    rails: tuple[Rail, ...]
    loops: tuple[PlacedLoop, ...]
    runs: tuple[LaidRun, ...]
    meetings: tuple[PlacedSide, ...]
    """Sides that begin at a corner where the strip changes."""
    steps: LayoutSteps

    @property
    def sides(self) -> tuple[PlacedSide, ...]:
        """Return the sides of all loops."""
        return tuple(side for loop in self.loops for side in loop)

    @property
    def corners(self) -> tuple[PlacedSide, ...]:
        """Return the sides that begin at a corner of the channel, those of meetings last."""
        turned = (
            side
            for run in self.runs
            for side in run.placed.sides[0 if run.placed.run.closed else 1 :]
        )
        return (*turned, *self.meetings)


def outline_plane(plane: Plane, rules: RuleSet) -> Figure[Outline]:
    """Return the outline of one roof plane.

    Raises InvalidRequestError with every fault of the modules or shapes.
    """
    return rules.figure(
        lambda: outline_of(plane.modules, plane.drawn, rules=gap_rules(rules.values))
    )


def lay_out(
    plane: Plane, outline: Figure[Outline], rules: RuleSet, strips: Strips | None = None
) -> LaidPlane:
    """Return the layout of one roof plane; its zones are all known to the rule set.

    `strips` tells which strip goes where; without it, one goes all around.

    Raises InvalidRequestError where that is more work than is done at once.
    """
    rails = rules.figure(lambda: rails_of(plane, rules.values))
    placed = loops_of(plane, outline, rails, rules, strips)

    def corners() -> None:
        """Corners follow from the outline, and from where one strip meets another."""
        depend_on(outline, *((strips.by_place,) if strips else ()))

    def runs() -> tuple[LaidRun, ...]:
        depend_on(corner_figure, placed.tabs, placed.returns, placed.penetrations)
        attachment = plane.attachment.value
        on_rails = attachment == "rails" or bool(rails.value)
        found = runs_of(placed.loops, rules, on_rails=on_rails)
        return _laid_runs(plane, found, rules)

    corner_figure = rules.figure(corners)
    laid = rules.figure(runs)
    return LaidPlane(
        plane=plane,
        outline=outline.value,
        rails=rails.value,
        loops=tuple(placed.loops),
        runs=laid.value,
        meetings=tuple(
            side
            for loop in placed.loops
            for at, side in enumerate(loop)
            if not side.open and not loop[at - 1].open and side.strip != loop[at - 1].strip
        ),
        steps=LayoutSteps(
            outline=outline,
            corners=corner_figure,
            tabs=placed.tabs,
            penetrations=placed.penetrations,
            runs=laid,
        ),
    )


def gap_rules(values: Values) -> GapRules:
    """Return the widths that an outline depends on."""
    return GapRules(
        max_module_gap_nm=values.max_module_gap,
        level_gap_nm=values.cut_increment // _LEVEL,
    )


def piece_rules(values: Values) -> PieceRules:
    """Return how pieces are cut."""
    return PieceRules(
        piece_nm=values.piece_length,
        grid_nm=values.cut_increment,
        min_piece_length_nm=values.min_piece_length,
        most_overlap_nm=values.max_overlap_length,
        cut_weight_nm=values.cut_weight,
        return_weight_nm=values.return_weight,
    )


def clip_rules(values: Values, *, clamps: bool) -> ClipRules:
    """Return how frame clips are spaced; without `clamps`, there is nothing to stay clear of."""
    return ClipRules(
        spacing_nm=values.clip_spacing,
        setback_nm=values.clip_setback,
        clear_nm=values.clip_clearance if clamps else 0,
        mark_nm=_CLIP_MARK_NM,
    )


def _laid_runs(plane: Plane, runs: Sequence[PlacedRun], rules: RuleSet) -> tuple[LaidRun, ...]:
    """Return the runs with their pieces; runs that are alike are solved once."""
    pieces = piece_rules(rules.values)
    different = dict.fromkeys(placed.run for placed in runs)
    if sum(whole(run.length_nm, pieces.grid_nm) for run in different) > MOST_PLACES:
        problem = "These arrays need more channel than one request may lay out."
        remedy = "Split the job into several requests."
        raise InvalidRequestError([Fault(path=("array",), problem=problem, remedy=remedy)])
    solved = {run: _solved(run, pieces) for run in different}
    spacing = None
    if plane.attachment.value == "frame_clips":
        spacing = clip_rules(rules.values, clamps=bool(plane.clamps))
    laid: list[LaidRun] = []
    counts: Counter[str] = Counter()
    for placed in runs:
        array = placed.sides[0].loop.partition("-")[0]
        layout, clips = solved[placed.run], tuple[int, ...]()
        if spacing is not None:
            clips = clips_on(placed, layout, plane.clamps, spacing)
        laid.append(_laid(placed, layout, clips, array, counts[array]))
        counts[array] += len(laid[-1].pieces)
    return tuple(laid)


def _solved(run: Run, rules: PieceRules) -> PieceLayout:
    """Return the pieces along a run; none around a loop that is no longer than an overlap."""
    if run.closed and run.length_nm <= longest_overlap_nm(run, rules):
        return PieceLayout()
    return lay_pieces(run, rules)


def _laid(
    placed: PlacedRun, layout: PieceLayout, clips: tuple[int, ...], array: str, before: int
) -> LaidRun:
    """Return a run with its pieces, numbered after the `before` pieces of its array."""
    pieces = [
        NamedPiece(name=f"{array}{number}", piece=piece, marks=marks)
        for number, (piece, marks) in enumerate(
            zip(layout.pieces, marks_of(layout, placed, clips), strict=True), before + 1
        )
    ]
    returns = tuple(place_return(placed, made) for made in layout.returns)
    return LaidRun(
        placed=placed, layout=layout, pieces=tuple(pieces), returns=returns, clips_nm=clips
    )
