"""Show a layout in the caller's units."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.calc.layout.counts import Counts, WidthPlan
from service.calc.layout.edges import PlacedEdge
from service.calc.layout.lay import LaidPlane, LaidRun
from service.calc.layout.marks import Mark
from service.calc.layout.places import along, place_on
from service.calc.layout.plane import Spot as At
from service.calc.layout.strips import Strip
from service.calls.answers.layout import (
    CountsAnswer,
    EdgeAnswer,
    LapAnswer,
    LayoutAnswer,
    MarkAnswer,
    PieceAnswer,
    ReturnAnswer,
    Spot,
    TabAnswer,
)
from service.calls.answers.layout_conditions import show_conditions
from service.calls.answers.layout_geometry import picture
from service.calls.answers.show_strips import show_plans, show_strip, unfitted
from service.quantity.show import System, long


def show_layout(
    planes: Sequence[LaidPlane],
    strips: Sequence[Strip],
    counts: Counts,
    plans: Sequence[WidthPlan],
    system: System,
) -> LayoutAnswer:
    """Return a layout in the caller's units; the first strip is the usual one."""
    shown = tuple(show_strip(strip, system) for strip in strips)
    runs = [(plane.plane.name, run) for plane in planes for run in plane.runs]
    return LayoutAnswer(
        perimeter=long(counts.perimeter_nm, system, "up"),
        strip_width=shown[0].width,
        profile=shown[0].profile,
        strips=shown,
        edges=tuple(_edge(edge, p.plane.name, system) for p in planes for edge in p.edges),
        pieces=tuple(piece for p in planes for run in p.runs for piece in _pieces(p, run, system)),
        laps=tuple(lap for run in runs for lap in _laps(*run, system)),
        tabs=tuple(tab for run in runs for tab in _tabs(*run, system)),
        returns=tuple(made for run in runs for made in _returns(*run, system)),
        counts=_counts(counts, system),
        cut_plan=show_plans(plans, system),
        conditions=(
            *unfitted(strips, system),
            *(c for plane in planes for c in show_conditions(plane, system)),
        ),
        geometry=tuple(picture(plane) for plane in planes),
    )


def show_spot(spot: At, system: System) -> Spot:
    """Return a place on the roof plane."""
    return Spot(x=long(spot[0], system, "down"), y=long(spot[1], system, "down"))


def _edge(placed: PlacedEdge, plane: str, system: System) -> EdgeAnswer:
    edge = placed.edge
    return EdgeAnswer(
        edge=placed.name,
        plane=plane,
        facing=edge.facing,
        start=show_spot((edge.start.x_nm, edge.start.y_nm), system),
        end=show_spot((edge.end.x_nm, edge.end.y_nm), system),
        length=long(edge.length_nm, system, "up"),
        corner="inside" if placed.inside else "outside",
        hole=placed.hole,
        open=placed.open,
        zone=placed.zone,
        strip=placed.strip or None,
    )


def _pieces(plane: LaidPlane, run: LaidRun, system: System) -> Iterator[PieceAnswer]:
    for named in run.pieces:
        piece = named.piece
        made = piece.returned_nm
        yield PieceAnswer(
            piece=named.name,
            plane=plane.plane.name,
            strip=run.strip,
            cut_length=long(piece.cut_nm, system, "up"),
            covers=long(piece.covered_nm, system, "down"),
            lap=long(piece.lap_nm, system, "up") if piece.lap_nm else None,
            return_length=long(made, system, "up") if made else None,
            marks=tuple(_mark(mark, system) for mark in named.marks),
        )


def _mark(mark: Mark, system: System) -> MarkAnswer:
    # the last mark is the cut, and reads as the cut length does: two texts for it would be a trap
    at = long(mark.at_nm, system, "up" if mark.kind == "end" else "down")
    return MarkAnswer(at=at, kind=mark.kind, edge=mark.edge, text=f"{_words(mark)} at {at.text}")


def _words(mark: Mark) -> str:
    if mark.kind == "corner":
        return "inside corner" if mark.inside else "outside corner"
    if mark.kind == "tab":
        return f"tab, {'beside' if mark.upright else 'upslope face of'} the rail,"
    return {
        "lap_ends": "the piece before reaches to here",
        "penetration": "cut-out for a penetration",
        "next_laps": "the next piece begins",
        "return_bend": "return bend, turned in under the array,",
        "end": "cut",
    }[mark.kind]


def _laps(plane: str, run: LaidRun, system: System) -> Iterator[LapAnswer]:
    # each lap ends where a piece does; the last piece of a loop is lapped by the first
    following = (*run.pieces[1:], *run.pieces[:1])
    for lap, piece, before in zip(run.layout.laps, following, run.pieces, strict=False):
        edge, spot = place_on(run.placed, lap.end_nm)
        yield LapAnswer(
            piece=piece.name,
            over=before.name,
            plane=plane,
            length=long(lap.lap_nm, system, "up"),
            edge=edge.name,
            zone=edge.zone,
            place=show_spot(spot, system),
            crowded=bool(lap.too_near_nm),
        )


def _tabs(plane: str, run: LaidRun, system: System) -> Iterator[TabAnswer]:
    for placed, tab in run.placed.tabs_by_edge():
        yield TabAnswer(
            edge=placed.name,
            plane=plane,
            along=long(tab.at_nm, system, "down"),
            place=show_spot(along(placed, tab.at_nm), system),
            side=tab.side,
        )


def _returns(plane: str, run: LaidRun, system: System) -> Iterator[ReturnAnswer]:
    for laid in run.returns:
        yield ReturnAnswer(
            piece=run.pieces[laid.made.piece].name,
            edge=laid.edge.name,
            plane=plane,
            place=show_spot(laid.bend, system),
            length=long(laid.made.return_nm, system, "up"),
            end="start" if laid.made.at_start else "end",
            direction=laid.direction,
            foot=show_spot(laid.foot, system),
        )


def _counts(counts: Counts, system: System) -> CountsAnswer:
    return CountsAnswer(
        perimeter=long(counts.perimeter_nm, system, "up"),
        cut_mesh=long(counts.cut_mesh_nm, system, "up"),
        pieces=counts.pieces,
        laps=counts.laps,
        corners=counts.corners,
        tabs=counts.tabs,
        returns=counts.returns,
        penetrations=counts.penetrations,
        rolls=counts.rolls,
    )
