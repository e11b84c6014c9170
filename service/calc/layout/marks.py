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
    marks = _on(piece, covered, "tab", placed.run.tabs_nm, layout, placed)
    marks += _on(piece, covered, "penetration", placed.penetrations_nm, layout, placed)
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


def _on(
    piece: Piece,
    covered: int,
    kind: MarkKind,
    places_nm: tuple[int, ...],
    layout: PieceLayout,
    placed: PlacedRun,
) -> list[Mark]:
    """Return a mark for each of some places that a piece comes to lie on."""
    if not places_nm:
        return []
    passed = placed.passed(places_nm, piece.start_nm, covered, backward=layout.backward)
    return [
        Mark(at_nm=along, kind=kind, edge=placed.edges[placed.edge_at(places_nm[number])].name)
        for along, number in passed
    ]


def _corners(piece: Piece, covered: int, layout: PieceLayout, placed: PlacedRun) -> list[Mark]:
    passed = placed.passed(placed.starts_nm, piece.start_nm, covered, backward=layout.backward)
    return [
        Mark(
            at_nm=along,
            kind="corner",
            edge=placed.edges[number].name,
            inside=placed.edges[number].inside,
        )
        for along, number in passed
        if 0 < along < covered
    ]


def _edge(piece: Piece, along: int, layout: PieceLayout, placed: PlacedRun) -> str:
    """Return the name of the edge on which a place of a piece's tape comes to lie."""
    place = piece.start_nm + (-along if layout.backward else along)
    place = place % placed.run.length_nm if placed.run.closed else place
    return placed.edges[placed.edge_at(place)].name
