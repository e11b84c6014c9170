"""Marks along the tape of each piece, so that a crew can cut and bend it on the ground."""

from __future__ import annotations

from typing import Literal

import msgspec

from service.calc.layout.runs import PlacedRun
from service.calc.pieces import Piece, PieceLayout

MarkKind = Literal["lap_ends", "tab", "corner", "penetration", "next_laps", "return_bend", "end"]


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """One mark: how far along the piece's tape [nm], what is made there, and on which edge.

    `lap_ends`: the piece before reaches to here. `next_laps`: the next piece begins here.
    `return_bend`: from here the mesh is turned in under the array. `inside` tells a corner that
    turns towards the array.
    """

    at_nm: int
    kind: MarkKind
    edge: str
    inside: bool = False


def marks_of(piece: Piece, number: int, layout: PieceLayout, placed: PlacedRun) -> tuple[Mark, ...]:
    """Return the marks of a piece in the order of its tape."""
    covered = piece.cut_nm - (piece.return_nm or 0)
    marks = [
        mark
        for mark in (
            *(_mark(piece, at, "tab", layout, placed) for at in placed.run.tabs_nm),
            *(_mark(piece, at, "penetration", layout, placed) for at in placed.penetrations_nm),
        )
        if mark.at_nm <= covered
    ]
    marks += _corners(piece, covered, layout, placed)
    if piece.lap_nm:
        edge = _edge(piece, piece.lap_nm, layout, placed)
        marks.append(Mark(at_nm=piece.lap_nm, kind="lap_ends", edge=edge))
    following = _following(number, layout, placed)
    if following:
        at = covered - following
        marks.append(Mark(at_nm=at, kind="next_laps", edge=_edge(piece, at, layout, placed)))
    if piece.return_nm is not None:
        edge = _edge(piece, covered, layout, placed)
        marks.append(Mark(at_nm=covered, kind="return_bend", edge=edge))
    marks.append(Mark(at_nm=piece.cut_nm, kind="end", edge=_edge(piece, covered, layout, placed)))
    return tuple(sorted(marks, key=lambda mark: (mark.at_nm, _ORDER[mark.kind])))


_BEYOND = 1 << 62
_ORDER: dict[MarkKind, int] = {
    "lap_ends": 0,
    "tab": 1,
    "corner": 2,
    "penetration": 3,
    "next_laps": 4,
    "return_bend": 5,
    "end": 6,
}


def _following(number: int, layout: PieceLayout, placed: PlacedRun) -> int:
    """Return how far the next piece laps this one [nm]; 0 at the end of an open run."""
    if number + 1 < len(layout.pieces):
        return layout.pieces[number + 1].lap_nm
    return layout.pieces[0].lap_nm if placed.run.closed else 0


def _along(piece: Piece, place: int, layout: PieceLayout, placed: PlacedRun) -> int:
    """Return how far along a piece's tape a place of the run lies; past its end if it does not."""
    along = piece.start_nm - place if layout.backward else place - piece.start_nm
    if placed.run.closed:
        return along % placed.run.length_nm
    return along if along >= 0 else _BEYOND


def _mark(piece: Piece, place: int, kind: MarkKind, layout: PieceLayout, placed: PlacedRun) -> Mark:
    edge = placed.edges[placed.edge_at(place)].name
    return Mark(at_nm=_along(piece, place, layout, placed), kind=kind, edge=edge)


def _corners(piece: Piece, covered: int, layout: PieceLayout, placed: PlacedRun) -> list[Mark]:
    marks = []
    for number, place in enumerate(placed.starts_nm):
        if number == 0 and not placed.run.closed:
            continue
        along = _along(piece, place, layout, placed)
        if 0 < along < covered:
            edge = placed.edges[number]
            marks.append(Mark(at_nm=along, kind="corner", edge=edge.name, inside=edge.inside))
    return marks


def _edge(piece: Piece, along: int, layout: PieceLayout, placed: PlacedRun) -> str:
    """Return the name of the edge on which a place of a piece's tape comes to lie."""
    place = piece.start_nm + (-along if layout.backward else along)
    place = place % placed.run.length_nm if placed.run.closed else place
    return placed.edges[placed.edge_at(place)].name
