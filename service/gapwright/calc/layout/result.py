"""The layout in an answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Literal

import msgspec

from gapwright.calc.channel import Profile
from gapwright.calc.clearance import ClearanceResult
from gapwright.calc.cutting import CutRoll
from gapwright.calc.layout.counts import Counts, WidthPlan
from gapwright.calc.layout.geojson import PlanePicture, picture
from gapwright.calc.layout.lay import LaidPlane, LaidRun
from gapwright.calc.layout.marks import Mark, MarkKind
from gapwright.calc.layout.runs import along, place_on
from gapwright.calc.layout.sides import PlacedSide
from gapwright.calc.layout.strips import SideReadings, Strip
from gapwright.calc.layout.warnings import Place, WarningResult, conditions_of, no_strip, place
from gapwright.calc.sizing import Advice
from gapwright.quantity.output import Length, RunDown, RunUp, SectionDown, SectionUp, Text
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet


class ReadingsResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Readings and where they were given: for a side, for a facing, or for the whole job."""

    plane: str
    """The name of the roof plane."""
    place: str
    """The side or the facing that the readings were given for, or the whole job."""
    readings: tuple[SectionUp, ...]
    """The readings."""


class StripWithChannel(msgspec.Struct, frozen=True, kw_only=True):
    """A strip with its channel, and the readings that it was sized for.

    `width` is null if no stock strip is wide enough, `profile` if no channel can be bent. `advice`
    says what to do if no stock strip gives a snug channel.
    """

    strip: str
    """The name of the strip."""
    width: SectionDown | None
    """The stock width; null if none is wide enough."""
    profile: Profile | None
    """The channel; null if no channel can be bent."""
    clearance: ClearanceResult
    """Which readings count."""
    readings: tuple[ReadingsResult, ...]
    """The readings that it was sized for, by place."""
    advice: tuple[Advice, ...]
    """What to do if no stock strip is snug."""


class SideResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One side of an array or hole. `corner` is the corner at its start, `strip` its strip.

    It is named by its facing: A-eave, or A-left-1 and A-left-2 if several sides face left. Those of
    a hole, which face into it, are A-hole-1-eave and so on.
    """

    side: str
    """The name of the side."""
    plane: str
    """The name of the roof plane."""
    facing: Literal["eave", "ridge", "left", "right"]
    """Where the side faces, as seen from the eave."""
    start: Place
    """Where the side starts."""
    end: Place
    """Where the side ends."""
    length: RunUp
    """Length of the side."""
    corner: Literal["outside", "inside"]
    """The corner at its start."""
    hole: bool
    """Whether the side is that of a hole."""
    open: bool
    """Whether the side is left without a barrier."""
    zone: str
    """The zone of the rule set."""
    strip: str | None
    """The name of its strip; null if the side is open."""


class MarkResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One tape mark on a piece, with its description."""

    at: Length
    """Distance from the first end of the piece."""
    kind: MarkKind
    """What the mark is for."""
    side: str
    """The name of the side."""
    text: Text
    """The mark as text for the crew."""


class PieceResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One piece of channel: its cut length, and its tape marks measured from its first end.

    Its name is array letter and number, counted around the array and then around its holes.
    """

    name: str
    """The name of the piece, such as A1."""
    plane: str
    """The name of the roof plane."""
    strip: str
    """The name of its strip."""
    cut_length: RunUp
    """The length to cut."""
    covers: RunDown
    """The length of side that it covers."""
    overlap: RunUp | None
    """The overlap with the previous piece, or null."""
    return_length: RunUp | None
    """The mesh of its returns, or null."""
    marks: tuple[MarkResult, ...]
    """The tape marks along the piece."""


class OverlapResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where a piece overlaps the previous one. `crowded`: no place met every setback."""

    piece: str
    """The piece on top."""
    over: str
    """The piece under it."""
    plane: str
    """The name of the roof plane."""
    length: RunUp
    """Length of the overlap."""
    side: str
    """The side that the overlap is on."""
    zone: str
    """The zone of that side."""
    place: Place
    """Where the overlap ends."""
    crowded: bool
    """Whether no place met every setback."""


class TabResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where the channel is attached to a rail that crosses the side.

    The tab is on the upslope face of the rail, or on its side if the rail runs up the slope.
    """

    side: str
    """The name of the side."""
    plane: str
    """The name of the roof plane."""
    along: RunDown
    """Distance from the start of the side."""
    place: Place
    """Where the tab is."""
    rail_side: Literal["upslope", "beside"]
    """The face of the rail that takes the tab."""


class ClipResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where a frame clip holds the channel to the lip of a module frame."""

    side: str
    """The name of the side."""
    plane: str
    """The name of the roof plane."""
    along: RunDown
    """Distance from the start of the side."""
    place: Place
    """Where the clip is."""


class ReturnResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Where one end of a piece is bent in to a rail, and the mesh that this takes.

    `direction` is relative to the installation order of the pieces. `foot` is where the return
    meets the rail.
    """

    piece: str
    """The name of the piece."""
    side: str
    """The side that the piece is on."""
    plane: str
    """The name of the roof plane."""
    place: Place
    """Where the return leaves the side."""
    length: RunUp
    """The mesh that it takes."""
    end: Literal["start", "end"]
    """The end of the piece that is bent."""
    direction: Literal["onward", "back"]
    """Whether it is bent onward or back, in the order of installation."""
    foot: Place
    """Where the return meets the rail."""


class CutPieceResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A piece as it is cut from a roll, measured from the free end of the roll."""

    piece: str
    """The name of the piece."""
    plane: str
    """The name of the roof plane."""
    start: RunDown
    """Where the piece starts, from the free end of the roll."""
    length: RunUp
    """The cut length."""


class RollResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One roll: its pieces in cutting order, and the remnant."""

    length: RunDown
    """Length of the roll."""
    strip_width: SectionDown
    """Width of the roll."""
    pieces: tuple[CutPieceResult, ...]
    """The pieces in cutting order."""
    remnant: RunDown
    """What is left of the roll."""


class CutPlanResult(msgspec.Struct, frozen=True, kw_only=True):
    """Which piece is cut from which roll, by strip width.

    Pieces without a stock strip (`no_strip`) are left out. `optimal` means that no plan takes
    fewer rolls. `bound` is a proven minimum of rolls.
    """

    rolls: tuple[RollResult, ...]
    """The rolls, each with its pieces."""
    optimal: bool
    """Whether it is proven that no plan takes fewer rolls."""
    bound: int
    """The proven minimum number of rolls."""


class CountsResult(msgspec.Struct, frozen=True, kw_only=True):
    """Counts that drive the material list. `rolls` is the count of the cut plan."""

    perimeter: RunUp
    """Length of all sides that are closed."""
    cut_mesh: RunUp
    """Length of all pieces as cut."""
    pieces: int
    """Number of pieces."""
    overlaps: int
    """Number of overlaps."""
    corners: int
    """Number of corners."""
    tabs: int
    """Number of tabs."""
    returns: int
    """Number of returns."""
    clips: int
    """Number of frame clips."""
    penetrations: int
    """Number of penetrations."""
    rolls: int
    """Number of rolls in the cut plan."""


class LayoutResult(msgspec.Struct, frozen=True, kw_only=True):
    """The layout: sides, pieces, overlaps, tabs, returns, counts and cut plan.

    `strip_width` and `profile` are those of the first of `strips`, the main one. There are more
    only if the readings of some sides call for another strip.
    """

    perimeter: RunUp
    """Length of all sides that are closed."""
    strip_width: SectionDown | None
    """Width of the main strip; null if no stock width is wide enough."""
    profile: Profile | None
    """Channel of the main strip; null if no channel can be bent."""
    strips: tuple[StripWithChannel, ...]
    """Every strip of the layout, the main one first."""
    sides: tuple[SideResult, ...]
    """The sides of the arrays and of their holes."""
    pieces: tuple[PieceResult, ...]
    """The pieces of channel, in the order of installation."""
    overlaps: tuple[OverlapResult, ...]
    """Where pieces overlap."""
    tabs: tuple[TabResult, ...]
    """Where the channel is attached to crossing rails."""
    returns: tuple[ReturnResult, ...]
    """Where ends of pieces are bent in to a rail."""
    clips: tuple[ClipResult, ...]
    """Where frame clips hold the channel, on racking without rails."""
    counts: CountsResult
    """Counts that the material list is made from."""
    cut_plan: CutPlanResult
    """How the pieces are cut from rolls."""
    warnings: tuple[WarningResult, ...]
    """What a person must check or decide."""
    geometry: tuple[PlanePicture, ...]
    """The geometry of each roof plane, as GeoJSON."""


def layout_result(
    planes: Sequence[LaidPlane],
    strips: Sequence[Strip],
    counts: Counts,
    plans: Figure[tuple[WidthPlan, ...]],
    rules: RuleSet,
) -> LayoutResult:
    """Return the layout for an answer. The first strip is the main one."""
    usual = strips[0].sizing
    width = rules.show("/strip_width", usual.strip_nm)
    runs = [(plane.plane.name, run) for plane in planes for run in plane.runs]
    _show_steps(planes, rules)
    return LayoutResult(
        perimeter=RunUp(rules.show("/perimeter", counts.perimeter_nm)),
        strip_width=None if width is None else SectionDown(width),
        profile=rules.show("/profile", usual.profile),
        strips=tuple(
            rules.show(f"/strips/{at}", rules.figure(partial(_strip, strip)))
            for at, strip in enumerate(strips)
        ),
        sides=tuple(_side(side, plane.plane.name) for plane in planes for side in plane.sides),
        pieces=tuple(piece for plane, run in runs for piece in _pieces(plane, run)),
        overlaps=tuple(overlap for run in runs for overlap in _overlaps(*run)),
        tabs=tuple(tab for run in runs for tab in _tabs(*run)),
        returns=tuple(made for run in runs for made in _returns(*run)),
        clips=tuple(clip for run in runs for clip in _clips(*run)),
        counts=_counts(counts, plans, rules),
        cut_plan=cut_plan_result(rules.show("/cut_plan", plans)),
        warnings=rules.show(
            "/warnings", rules.figure(lambda: tuple(_conditions(planes, strips, rules)))
        ),
        geometry=tuple(picture(plane) for plane in planes),
    )


def _show_steps(planes: Sequence[LaidPlane], rules: RuleSet) -> None:
    """Note which rules the lists of a layout follow from, step by step."""
    for plane in planes:
        for pointer in ("/pieces", "/overlaps", "/returns", "/geometry"):
            rules.show(pointer, plane.steps.runs)
        rules.show("/clips", plane.plane.attachment)
        if plane.plane.attachment.value == "frame_clips":
            rules.show("/clips", plane.steps.runs)
        rules.show("/sides", plane.steps.corners)
        rules.show("/strips", plane.steps.corners)
        rules.show("/tabs", plane.steps.corners)  # a run starts where the strip changes
        rules.show("/tabs", plane.steps.tabs)


def _conditions(
    planes: Sequence[LaidPlane], strips: Sequence[Strip], rules: RuleSet
) -> Iterator[WarningResult]:
    yield from no_strip(strips)
    for plane in planes:
        yield from conditions_of(plane, rules)


def _strip(strip: Strip) -> StripWithChannel:
    sizing = strip.sizing
    width = sizing.strip_nm.value
    return StripWithChannel(
        strip=strip.name,
        width=None if width is None else SectionDown(width),
        profile=sizing.profile.value,
        clearance=sizing.clearance.value,
        readings=readings_result(strip.readings),
        advice=sizing.advice.value,
    )


def readings_result(readings: Sequence[SideReadings]) -> tuple[ReadingsResult, ...]:
    """Return readings and where they were given."""
    return tuple(
        ReadingsResult(
            plane=one.plane,
            place=one.place,
            readings=tuple(SectionUp(nm) for nm in one.readings_nm),
        )
        for one in readings
    )


def _side(side: PlacedSide, plane: str) -> SideResult:
    return SideResult(
        side=side.name,
        plane=plane,
        facing=side.facing,
        start=place(side.start),
        end=place(side.end),
        length=RunUp(side.length_nm),
        corner="inside" if side.inside else "outside",
        hole=side.hole,
        open=side.open,
        zone=side.zone,
        strip=side.strip or None,
    )


def _pieces(plane: str, run: LaidRun) -> Iterator[PieceResult]:
    for named in run.pieces:
        piece = named.piece
        made = piece.returned_nm
        yield PieceResult(
            name=named.name,
            plane=plane,
            strip=run.strip,
            cut_length=RunUp(piece.cut_nm),
            covers=RunDown(piece.covered_nm),
            overlap=RunUp(piece.overlap_nm) if piece.overlap_nm else None,
            return_length=RunUp(made) if made else None,
            marks=tuple(_mark(mark) for mark in named.marks),
        )


def mark_length(mark: Mark) -> RunDown | RunUp:
    """Return the position of a mark. The last one is the cut length, which is rounded up."""
    return RunUp(mark.at_nm) if mark.kind == "end" else RunDown(mark.at_nm)


def _mark(mark: Mark) -> MarkResult:
    at = mark_length(mark)
    text = Text(f"{_words(mark)} at {{}}", at)
    return MarkResult(at=at, kind=mark.kind, side=mark.side, text=text)


def _words(mark: Mark) -> str:
    if mark.kind == "corner":
        return "inside corner" if mark.inside else "outside corner"
    if mark.kind == "tab":
        return f"tab, {'side' if mark.upright else 'upslope face'} of the rail,"
    return {
        "overlap_ends": "overlap with the previous piece ends",
        "clip": "frame clip",
        "penetration": "cutout for a penetration",
        "next_overlaps": "next piece starts",
        "return_bend": "return, bent in under the array,",
        "end": "cut",
    }[mark.kind]


def _overlaps(plane: str, run: LaidRun) -> Iterator[OverlapResult]:
    # each overlap ends where a piece does; in a loop, the first piece overlaps the last
    following = (*run.pieces[1:], *run.pieces[:1])
    for overlap, piece, before in zip(run.layout.overlaps, following, run.pieces, strict=False):
        side, spot = place_on(run.placed, overlap.end_nm)
        yield OverlapResult(
            piece=piece.name,
            over=before.name,
            plane=plane,
            length=RunUp(overlap.overlap_nm),
            side=side.name,
            zone=side.zone,
            place=place(spot),
            crowded=bool(overlap.too_near_nm),
        )


def _tabs(plane: str, run: LaidRun) -> Iterator[TabResult]:
    for placed, tab in run.placed.tabs_by_side():
        yield TabResult(
            side=placed.name,
            plane=plane,
            along=RunDown(tab.at_nm),
            place=place(along(placed, tab.at_nm)),
            rail_side=tab.rail_side,
        )


def _clips(plane: str, run: LaidRun) -> Iterator[ClipResult]:
    for at in run.clips_nm:
        number = run.placed.side_at(at)
        side = run.placed.sides[number]
        on_side = at - run.placed.starts_nm[number]
        yield ClipResult(
            side=side.name,
            plane=plane,
            along=RunDown(on_side),
            place=place(along(side, on_side)),
        )


def _returns(plane: str, run: LaidRun) -> Iterator[ReturnResult]:
    for laid in run.returns:
        yield ReturnResult(
            piece=run.pieces[laid.made.piece].name,
            side=laid.side.name,
            plane=plane,
            place=place(laid.bend),
            length=RunUp(laid.made.return_nm),
            end="start" if laid.made.at_start else "end",
            direction=laid.direction,
            foot=place(laid.foot),
        )


def _counts(counts: Counts, plans: Figure[tuple[WidthPlan, ...]], rules: RuleSet) -> CountsResult:
    show = rules.show
    return CountsResult(
        perimeter=RunUp(show("/counts/perimeter", counts.perimeter_nm)),
        cut_mesh=RunUp(show("/counts/cut_mesh", counts.cut_mesh_nm)),
        pieces=show("/counts/pieces", counts.pieces),
        overlaps=show("/counts/overlaps", counts.overlaps),
        corners=show("/counts/corners", counts.corners),
        tabs=show("/counts/tabs", counts.tabs),
        returns=show("/counts/returns", counts.returns),
        clips=show("/counts/clips", counts.clips),
        penetrations=show("/counts/penetrations", counts.penetrations),
        rolls=sum(len(each.plan.rolls) for each in show("/counts/rolls", plans)),
    )


def cut_plan_result(plans: Sequence[WidthPlan]) -> CutPlanResult:
    """Return the cut plan of the rolls of all widths."""
    return CutPlanResult(
        rolls=tuple(_roll(roll, each.strip_nm) for each in plans for roll in each.plan.rolls),
        optimal=all(each.plan.optimal for each in plans),
        bound=sum(each.plan.bound for each in plans),
    )


def _roll(roll: CutRoll, width_nm: int | None) -> RollResult:
    assert width_nm is not None
    pieces = []
    for piece in roll.pieces:
        plane, _, name = piece.label.partition(":")
        pieces.append(
            CutPieceResult(
                piece=name,
                plane=plane,
                start=RunDown(piece.start_nm),
                length=RunUp(piece.length_nm),
            )
        )
    return RollResult(
        length=RunDown(roll.length_nm),
        strip_width=SectionDown(width_nm),
        pieces=tuple(pieces),
        remnant=RunDown(roll.remnant_nm),
    )
